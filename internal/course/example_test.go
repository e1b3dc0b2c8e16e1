package course

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// workedPoint is the worked example at one point of the grid, by the formulas of
// EXAMPLE.md: the quantities are the index at both visits and the other side's walk, the
// data their three ratios.
type workedPoint struct {
	left            float64
	mean            [3]float64
	prior, data     *mat.Dense
	surprise, moves *mat.VecDense // moves: the weights for the index at the second visit
	posterior       *mat.VecDense
	covariance      mat.Dense
	logDensity      float64
}

var workedRatios = []float64{math.Log(76.0 / 100), math.Log(98.0 / 105), math.Log(105.0 / 100)}

func workOut(scale, gap, spread, weeks float64) *workedPoint {
	const between, own, walk = 4.0, 0.12*0.12 + 0.04*0.04, 0.02 * 0.02 * 4
	w := &workedPoint{left: math.Exp(-between / weeks)}
	w.mean = [3]float64{math.Log(0.90) - gap, math.Log(0.90) - gap*w.left, 0}
	second := own + spread*spread*w.left*w.left + (0.008*0.008+0.007*0.007)*between +
		0.02*0.02*weeks/2*(1-w.left*w.left) + walk
	both := own + spread*spread*w.left
	w.prior = mat.NewDense(3, 3, []float64{own + spread*spread, both, 0, both, second, -walk, 0, -walk, walk})
	e := 0.10 * scale * 0.10 * scale
	w.data = mat.NewDense(3, 3, []float64{2 * e, 0, e, 0, 2 * e, -e, e, -e, 2 * e})
	w.data.Add(w.data, w.prior)
	w.surprise = mat.NewVecDense(3, nil)
	for i, y := range workedRatios {
		w.surprise.SetVec(i, y-w.mean[i])
	}
	var inverse, gain, taken mat.Dense
	if err := inverse.Inverse(w.data); err != nil {
		panic(err)
	}
	gain.Mul(w.prior, &inverse)
	w.moves = mat.VecDenseCopyOf(gain.RowView(1))
	w.posterior = mat.NewVecDense(3, nil)
	w.posterior.MulVec(&gain, w.surprise)
	w.posterior.AddVec(w.posterior, mat.NewVecDense(3, w.mean[:]))
	taken.Mul(&gain, w.prior)
	w.covariance.Sub(w.prior, &taken)
	det, _ := mat.LogDet(w.data)
	w.logDensity = -(det + mat.Inner(w.surprise, &inverse, w.surprise)) / 2
	return w
}

var workedShapes = []shape{{0, 0.02, 16}, {0.30, 0.25, 5}, {0.30, 0.25, 16}}

// workedAnswers are the fifteen answers with their weights, what counts for little left
// out.
func workedAnswers() (points []*workedPoint, weights []float64) {
	most, sum := 0.0, 0.0
	for i := -2.0; i <= 2; i++ {
		for _, s := range workedShapes {
			w := workOut(math.Exp(0.35*i), s.gap, s.spread, s.weeks)
			points, weights = append(points, w), append(weights, math.Exp(w.logDensity-i*i/2))
			most = math.Max(most, weights[len(weights)-1])
		}
	}
	for i := range weights {
		if weights[i] < 0.03*most {
			weights[i] = 0
		}
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	return points, weights
}

// workedMixture is the mean, the deviation and the probability of at least x of a
// combination of the three quantities over all answers.
func workedMixture(of ...float64) (mean, deviation float64, atLeast func(x float64) float64) {
	points, weights := workedAnswers()
	v := mat.NewVecDense(3, of)
	square := 0.0
	means, deviations := make([]float64, len(points)), make([]float64, len(points))
	for i, w := range points {
		means[i] = mat.Dot(v, w.posterior)
		variance := mat.Inner(v, &w.covariance, v)
		deviations[i] = math.Sqrt(variance)
		mean += weights[i] * means[i]
		square += weights[i] * (variance + means[i]*means[i])
	}
	return mean, math.Sqrt(square - mean*mean), func(x float64) (p float64) {
		for i := range weights {
			p += weights[i] * math.Erfc((x-means[i])/deviations[i]/math.Sqrt2) / 2
		}
		return p
	}
}

// byHand is every number of the worked example by its name in the document.
func byHand() map[string]float64 {
	w := workOut(1, 0.30, 0.25, 16)
	log90 := math.Log(0.90)
	numbers := map[string]float64{
		"y1, index of visit 1": workedRatios[0], "y2, index of visit 2": workedRatios[1], "y3, other side, visit 2 over visit 1": workedRatios[2],
		"part of the gap left": w.left, "mean of x1": w.mean[0], "mean of x2": w.mean[1],
		"variance of x1": w.prior.At(0, 0), "covariance of x1 and x2": w.prior.At(0, 1), "variance of w": w.prior.At(2, 2), "variance of x2": w.prior.At(1, 1),
		"y1, y1": w.data.At(0, 0), "y2, y2": w.data.At(1, 1), "y3, y3": w.data.At(2, 2),
		"y1, y2": w.data.At(0, 1), "y1, y3": w.data.At(0, 2), "y2, y3": w.data.At(1, 2),
		"y1": w.surprise.AtVec(0), "y2": w.surprise.AtVec(1), "y3": w.surprise.AtVec(2),
		"weight of y1": w.moves.AtVec(0), "weight of y2": w.moves.AtVec(1), "weight of y3": w.moves.AtVec(2),
		"logarithm of the index": w.posterior.AtVec(1), "its variance": w.covariance.At(1, 1),
		"index at one point":                   100 * math.Exp(w.posterior.AtVec(1)),
		"probability of evenness at one point": 100 * cumulative((w.posterior.AtVec(1)-log90)/math.Sqrt(w.covariance.At(1, 1))),
	}
	const z = 1.6448536269514722 // 90 %, two-sided
	index, deviation, atLeast := workedMixture(0, 1, 0)
	numbers["index of both sessions together"] = 100 * math.Exp(index)
	numbers["its interval from"], numbers["its interval to"] = 100*math.Exp(index-z*deviation), 100*math.Exp(index+z*deviation)
	numbers["probability of at least 90 %"], numbers["probability of at least 75 %"] = 100*atLeast(log90), 100*atLeast(math.Log(0.75))
	change, deviation, atLeast := workedMixture(-1, 1, 0)
	numbers["change of the index since the first visit"] = 100 * math.Expm1(change)
	numbers["its interval of change from"], numbers["its interval of change to"] = 100*math.Expm1(change-z*deviation), 100*math.Expm1(change+z*deviation)
	numbers["probability that the index fell"] = 100 * (1 - atLeast(0))
	strength, _, atLeast := workedMixture(-1, 1, 1)
	numbers["change of the strength"], numbers["probability that the strength fell"] = 100*math.Expm1(strength), 100*(1-atLeast(0))
	return numbers
}

// byTheProgram is what the program says of the same, as far as it computes it.
func byTheProgram(t *testing.T) (map[string]float64, *Course) {
	t.Helper()
	body, err := os.ReadFile("testdata/example.json")
	if err != nil {
		t.Fatal(err)
	}
	resource, err := fhirjson.Decode(body, fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	reading, err := intake.Read(intake.Input{Bundle: resource.(*fhir.Bundle)})
	if err != nil {
		t.Fatal(err)
	}
	p := protocol.Default()
	m := measure.Measure(&reading.Episode, p)
	c := Episode(&reading.Episode, m, p)

	o := observer{e: &reading.Episode, m: m, p: p, until: len(reading.Episode.Sessions)}
	observations := o.follow()
	f := newFilter(&c.par, 1, point{scale: 1, day: 1, shape: workedShapes[2]})
	s := seriesOf(1, observations)
	for day := range s.days {
		f.visit(s, day, s.newDay())
	}
	one, now, last := f.against(0, Present), c.Tests[0].Now(), &c.Tests[0].Last
	return map[string]float64{
		"logarithm of the index": one.mean, "its variance": one.variance, "index at one point": 100 * math.Exp(one.mean),
		"probability of evenness at one point": 100 * one.atLeast(c.par.even),
		"index of both sessions together":      now.Index, "its interval from": now.Low, "its interval to": now.High,
		"probability of at least 90 %": 100 * now.Even, "probability of at least 75 %": 100 * now.GoodEnough,
		"change of the index since the first visit": last.Index.Percent, "its interval of change from": last.Index.Low, "its interval of change to": last.Index.High,
		"probability that the index fell": 100 * last.Index.Below,
		"change of the strength":          last.Strength.Percent, "probability that the strength fell": 100 * last.Strength.Below,
	}, c
}

var (
	exampleRow    = regexp.MustCompile(`(?m)^\| ([^|]+) \|(?: [^|]* \|)? (-?\d+\.\d+)( %)? \|$`)
	exampleVisit  = regexp.MustCompile(`(?m)^\| (\d) \| (\d+) N \| (\d+) N \| ([\d.]+) % \|$`)
	exampleWeight = regexp.MustCompile(`(?m)^\| (0\.\d+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$`)
)

func readExample(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("EXAMPLE.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// asPrinted fails unless a number is the printed one, to its last digit.
func asPrinted(t *testing.T, what, by, printed string, want float64) {
	t.Helper()
	_, decimals, _ := strings.Cut(printed, ".")
	if got := strconv.FormatFloat(want, 'f', len(decimals), 64); got != printed {
		t.Errorf("%s: the document says %s, %s %s", what, printed, by, got)
	}
}

// Every number of the worked example, by its formulas and by the program.
func TestWorkedExample(t *testing.T) {
	text := readExample(t)
	hand := byHand()
	program, _ := byTheProgram(t)
	said := map[string]bool{}
	for _, row := range exampleRow.FindAllStringSubmatch(text, -1) {
		name, printed := row[1], row[2]
		want, ok := hand[name]
		if !ok {
			t.Errorf("%q stands in the document, and nothing computes it", name)
			continue
		}
		said[name] = true
		asPrinted(t, name, "its formula", printed, want)
		if got, ok := program[name]; ok {
			asPrinted(t, name, "the program", printed, got)
		}
	}
	for name := range hand {
		if !said[name] {
			t.Errorf("the document has no row %q", name)
		}
	}
	for name := range program {
		if _, ok := hand[name]; !ok {
			t.Errorf("no formula for %q", name)
		}
	}
}

// The strengths of the document are those of the input, as the program reads them.
func TestWorkedExampleReadsItsInput(t *testing.T) {
	rows := exampleVisit.FindAllStringSubmatch(readExample(t), -1)
	if len(rows) != 2 {
		t.Fatalf("%d visits in the document, want 2", len(rows))
	}
	_, c := byTheProgram(t)
	if days := c.Days[1] - c.Days[0]; days != 28 {
		t.Errorf("the visits are %d days apart, want 28", days)
	}
	for i, row := range rows {
		involved, other := number(t, row[2]), number(t, row[3])
		asPrinted(t, "index of visit "+row[1], "the newtons", row[4], 100*involved/other)
		if y := math.Log(involved / other); math.Abs(y-workedRatios[i]) > 1e-12 {
			t.Errorf("visit %s: the formulas use the ratio %.4f, the document has %.4f", row[1], workedRatios[i], y)
		}
	}
}

// The formulas and the text repeat what stands in the tables, and nothing else.
func TestWorkedExampleRepeatsItsNumbers(t *testing.T) {
	text, _, _ := strings.Cut(readExample(t), "```")
	stands := map[string]bool{}
	for _, row := range exampleRow.FindAllStringSubmatch(text, -1) {
		stands[strings.TrimPrefix(row[2], "-")] = true
	}
	for _, repeated := range regexp.MustCompile(`\d\.\d{4}`).FindAllString(text, -1) {
		if !stands[repeated] {
			t.Errorf("%s stands in a formula or the text, and in no table", repeated)
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// The weights of the fifteen answers; the program has each of them twice, because it
// does not know either how much of the error a day shares, which with one test makes no
// difference.
func TestWorkedExampleWeighsItsAnswers(t *testing.T) {
	rows := exampleWeight.FindAllStringSubmatch(readExample(t), -1)
	if len(rows) != 5 {
		t.Fatalf("%d sizes of the error in the document, want 5", len(rows))
	}
	_, weights := workedAnswers()
	_, c := byTheProgram(t)
	for i, row := range rows {
		scale := math.Exp(0.35 * float64(i-2))
		asPrinted(t, "size of the error", "its formula", row[1], 0.10*scale)
		for k, s := range workedShapes {
			asPrinted(t, "weight", "its formula", row[2+k], 100*weights[3*i+k])
			sum := 0.0
			for j := range c.parts {
				if at := c.parts[j].filter.point; math.Abs(at.scale-scale) < 1e-9 && at.shape == s {
					sum += c.parts[j].weight
				}
			}
			asPrinted(t, "weight", "the program", row[2+k], 100*sum)
		}
	}
}
