package reliability

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// Calcium in turnip leaves: 4 plants, 3 leaves each, 2 samples of each leaf.
//
// Source: Snedecor and Cochran 1967, Statistical Methods, page 286, as SAS/STAT
// documents its procedure NESTED, with the components 0.365223, 0.161060 and 0.006654.
var turnip = [][][]float64{
	{{3.28, 3.09}, {3.52, 3.48}, {2.88, 2.80}},
	{{2.46, 2.44}, {1.87, 1.92}, {2.19, 2.19}},
	{{2.77, 2.66}, {3.74, 3.44}, {2.55, 2.55}},
	{{3.78, 3.87}, {4.07, 4.12}, {3.31, 3.31}},
}

func TestNestedComponentsAsPublished(t *testing.T) {
	leaves, samples := differences{}, differences{}
	for plant, of := range turnip {
		for j, leaf := range of {
			samples.add(fmt.Sprint(plant), pair{0, 1}, leaf[1]-leaf[0])
			for i, other := range of[:j] {
				leaves.add(fmt.Sprint(plant), pair{i, j}, (leaf[0]+leaf[1]-other[0]-other[1])/2)
			}
		}
	}
	sample := samples.spread().agreement
	near(t, "component of samples", sample, 0.006654, 1e-6)
	near(t, "component of leaves", leaves.spread().agreement-sample/2, 0.161060, 1e-6)
}

// Yield of dyestuff: 6 batches, 5 samples each.
//
// Source: Davies, Statistical Methods in Research and Production, the data set Dyestuff
// of the R package lme4, whose variance within batches is 2451.25.
func TestOneWayComponentAsPublished(t *testing.T) {
	batches := [][]float64{
		{1545, 1440, 1440, 1520, 1580}, {1540, 1555, 1490, 1560, 1495}, {1595, 1550, 1605, 1510, 1560},
		{1445, 1440, 1595, 1465, 1545}, {1595, 1630, 1515, 1635, 1625}, {1520, 1455, 1450, 1480, 1445},
	}
	d := differences{}
	for batch, samples := range batches {
		for j, y := range samples {
			for i, x := range samples[:j] {
				d.add(fmt.Sprint(batch), pair{i, j}, y-x)
			}
		}
	}
	near(t, "within batches", d.spread().agreement, 2451.25, 1e-9)
}

// world draws studies with known variances, of the logarithm.
type world struct {
	subjects, sessions, trials             int
	sides, tests, raters                   []string
	person, side, test, rater, trial, high float64 // standard deviations; high is how much the last rater reads high
}

func (w world) draw(rng *rand.Rand) (scores []Score) {
	normal := func(sd float64) float64 { return sd * rng.NormFloat64() }
	for i := range w.subjects {
		strength := 4 + normal(0.3)
		person := draws(w.sessions, func() float64 { return normal(w.person) })
		for _, side := range w.sides {
			day := draws(w.sessions, func() float64 { return normal(w.side) })
			for _, test := range w.tests {
				for j := range w.sessions {
					own := normal(w.test)
					for r, rater := range w.raters {
						log := strength + person[j] + day[j] + own + normal(w.rater)
						if r > 0 && r == len(w.raters)-1 {
							log += math.Log1p(w.high)
						}
						for k := range w.trials {
							scores = append(scores, Score{fmt.Sprint(i), side, test, fmt.Sprint(j), rater, fmt.Sprint(k), math.Exp(log + normal(w.trial)), len(scores) + 2})
						}
					}
				}
			}
		}
	}
	return scores
}

func draws(n int, draw func() float64) (of []float64) {
	for range n {
		of = append(of, draw())
	}
	return of
}

// The limits of the error cover the truth in about 95 % of the studies, also where both
// sides share the day, which would count them twice.
func TestLimitsCoverTheTruth(t *testing.T) {
	tests := []struct {
		name string
		world
		least, most float64 // share covered, of 600 studies
	}{
		{"one side", world{subjects: 20, sessions: 2, trials: 3, sides: []string{""}, tests: []string{""}, raters: []string{""}, test: 0.08, trial: 0.05}, 0.93, 0.97},
		{"both sides share the day", world{subjects: 20, sessions: 2, trials: 3, sides: []string{"l", "r"}, tests: []string{""}, raters: []string{""}, person: 0.08, trial: 0.02}, 0.93, 0.98},
		{"both sides on their own", world{subjects: 20, sessions: 2, trials: 3, sides: []string{"l", "r"}, tests: []string{""}, raters: []string{""}, side: 0.08, trial: 0.05}, 0.95, 1},
		{"two raters in two sessions", world{subjects: 20, sessions: 2, trials: 2, sides: []string{""}, tests: []string{""}, raters: []string{"A", "B"}, test: 0.06, rater: 0.05, trial: 0.04}, 0.93, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, 28))
			truth := percent(square(tt.person) + square(tt.side) + square(tt.test) + square(tt.rater) + square(tt.trial)/float64(tt.trials))
			const studies = 600
			covered, mean := 0.0, 0.0
			for range studies {
				s, err := Analyse(tt.draw(rng))
				if err != nil {
					t.Fatal(err)
				}
				e := s.widest().Agreement
				mean += e.Value / studies
				if e.Low <= truth && truth <= e.High {
					covered += 1.0 / studies
				}
			}
			if covered < tt.least || covered > tt.most || math.Abs(mean/truth-1) > 0.03 {
				t.Errorf("covered %.3f, mean %.2f; want %.2f to %.2f, %.2f (95 %% limits of the truth that was drawn from)", covered, mean, tt.least, tt.most, truth)
			}
		})
	}
}

// A rater who reads 20 % high is seen in the means and in agreement; consistency hides
// it.
func TestRaterWhoReadsHigh(t *testing.T) {
	w := world{subjects: 30, sessions: 2, trials: 2, sides: []string{"left", "right"}, tests: []string{""}, raters: []string{"A", "B"}, side: 0.05, trial: 0.03, high: 0.2}
	s, err := Analyse(w.draw(rand.New(rand.NewPCG(1, 2))))
	if err != nil {
		t.Fatal(err)
	}
	var raters []float64
	for _, m := range s.Means {
		if m.Factor == "rater" {
			raters = append(raters, m.Percent)
		}
	}
	near(t, "ratio of the raters' means", raters[1]/raters[0], 1.2, 0.02) // as drawn
	r := s.widest()
	// Two raters who differ by d have a variance of d squared over two between them.
	want := percent(square(0.05) + square(0.03)/2 + square(math.Log(1.2))/2)
	near(t, "agreement", r.Agreement.Value, want, 1.5)
	near(t, "consistency", r.Consistency.Value, percent(square(0.05)+square(0.03)/2), 1)
	if text := s.Text(); !strings.Contains(text, "Somebody reads higher") {
		t.Errorf("the text does not warn:\n%s", text)
	}
}

// The parts of the error are those that were drawn from.
func TestPartsOfTheError(t *testing.T) {
	w := world{subjects: 400, sessions: 3, trials: 3, sides: []string{"left", "right"}, tests: []string{"a", "b", "c"}, raters: []string{""}, person: 0.03, side: 0.05, test: 0.06, trial: 0.04}
	s, err := Analyse(w.draw(rand.New(rand.NewPCG(3, 4))))
	if err != nil {
		t.Fatal(err)
	}
	between := square(0.03) + square(0.05) + square(0.06)
	near(t, "from trial to trial", s.TrialError, percent(square(0.04)), 0.1)
	near(t, "between sessions", s.Between(), percent(between), 0.3)
	near(t, "of one trial", s.ErrorOf(1), percent(between+square(0.04)), 0.3)
	day, ok := s.DayShare(3)
	near(t, "share of the day", day, 100*(square(0.03)+square(0.05))/(between+square(0.04)/3), 4)
	if !ok {
		t.Error("no share of the day for three tests")
	}
}

// Both sides of a subject are one subject, and the order of the scores means nothing.
func TestSidesAreOneSubject(t *testing.T) {
	w := world{subjects: 12, sessions: 2, trials: 2, sides: []string{"left", "right"}, tests: []string{""}, raters: []string{""}, person: 0.06, trial: 0.03}
	scores := w.draw(rand.New(rand.NewPCG(5, 6)))
	s, err := Analyse(scores)
	if err != nil {
		t.Fatal(err)
	}
	if s.Subjects != 12 || s.Targets != 24 {
		t.Errorf("%d subjects, %d targets, want 12, 24", s.Subjects, s.Targets)
	}
	before := s.widest().Agreement
	slices.Reverse(scores)
	if s, err = Analyse(scores); err != nil {
		t.Fatal(err)
	}
	near(t, "agreement of the reverse order", s.widest().Agreement.High, before.High, 1e-9)
}

func study(n int, of func(subject, session, trial int) float64) (scores []Score) {
	for i := range n {
		for j := range 2 {
			for k := range 2 {
				if v := of(i, j, k); v > 0 {
					scores = append(scores, Score{Subject: fmt.Sprint(i), Session: fmt.Sprint(j), Trial: fmt.Sprint(k), Value: v})
				}
			}
		}
	}
	return scores
}

func TestAnalyseRefuses(t *testing.T) {
	varied := func(i, j, k int) float64 { return 100 + float64(7*i+5*j*(i%3)+3*k*(i%2)) }
	tests := []struct {
		name   string
		scores []Score
		want   string
	}{
		{"nobody", nil, "found 0 subjects"},
		{"four subjects", study(4, varied), "found 4 subjects that were measured on every occasion; expected at least 5"},
		{"copied", study(6, func(i, _, _ int) float64 { return 100 + float64(i) }), "all repetitions are equal"},
		{"nothing repeated", study(6, func(i, j, k int) float64 {
			if j+k > 0 {
				return 0
			}
			return 100 + float64(i)
		}), "nothing was repeated"},
		{"who is missing is named", study(5, func(i, j, k int) float64 {
			if i == 2 && j == 1 {
				return 0
			}
			return varied(i, j, k)
		}), "subject 2: nothing of session 1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Analyse(tt.scores)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("err = %v, want %q", err, tt.want)
			}
		})
	}
	if _, err := Analyse(study(5, varied)); err != nil {
		t.Errorf("five subjects: %v", err)
	}
}

func TestWarnings(t *testing.T) {
	w := world{subjects: 19, sessions: 2, trials: 1, sides: []string{""}, tests: []string{""}, raters: []string{""}, test: 0.08}
	scores := w.draw(rand.New(rand.NewPCG(8, 9)))
	scores[0].Value = 4 * scores[1].Value
	s, err := Analyse(scores)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"19 subjects are few", "Slips of the pen?", "subject 0"} {
		if !strings.Contains(s.Text(), want) {
			t.Errorf("the text lacks %q:\n%s", want, s.Text())
		}
	}
	w.subjects = 20
	if s, err = Analyse(w.draw(rand.New(rand.NewPCG(8, 9)))); err != nil || strings.Contains(s.Text(), "are few") {
		t.Errorf("20 subjects are called few (%v)", err)
	}
}
