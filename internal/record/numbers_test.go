package record

import (
	"html"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
	_ "evenreach.example/internal/propertytest" // a fixed seed in CI
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// One quantity has one value in an answer: every number that the narrative or the
// text of the report prints is that of the Observation that holds it, as far as
// both are printed.
func TestReportPrintsTheNumbersOfTheObservations(t *testing.T) {
	total := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		b, text := drawSent(t).answerOf(t)
		narrative := of[*fhir.DiagnosticReport](b)[0].Text.Div
		for form, lines := range map[string][]string{"narrative": narrativeLines(narrative), "text": textLines(text)} {
			p := printed{t: t, b: b, form: form, checked: total}
			for _, line := range lines {
				p.check(line)
			}
		}
	})
	for _, what := range []string{
		"involved strength", "comparison strength", "index", "interval", "by mass", "sessions together", "probability", "probability of good enough", "change of strength",
		"detectable change", "range", "change of a range", "pain", "change of pain", "ratio", "needed strength",
	} {
		if total[what] == 0 {
			t.Errorf("no number compared: %s", what)
		}
	}
}

// answerOf is the answer, and the report as text.
func (s *sent) answerOf(t *rapid.T) (b *fhir.Bundle, text string) {
	reading, err := intake.Read(intake.Input{Bundle: s.bundle, Involved: s.involved, AsOf: s.asOf})
	if err != nil {
		t.Fatal(err)
	}
	a := assess.Assess(&reading.Episode, protocol.Default(), reading.AsOf)
	return Build(a, reading, Options{Output: Collection}), report.Text(a, Issues(a, reading, Collection), wording.For("en"))
}

// drawSent is a random record of a right shoulder: visits a week or more apart, of
// which each measures some of what there is to measure.
func drawSent(t *rapid.T) *sent {
	s := newSent()
	day := time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)
	tenths := func(low, high int, label string) string {
		n := rapid.IntRange(10*low, 10*high).Draw(t, label)
		return strconv.Itoa(n/10) + "." + strconv.Itoa(n%10)
	}
	often := func(label string) bool { return rapid.IntRange(0, 3).Draw(t, label) > 0 }
	for range rapid.IntRange(1, 4).Draw(t, "visits") {
		when := day.Format(time.RFC3339)
		for _, r := range shoulder.Trained {
			for _, p := range shoulder.TrainedPositions {
				for _, side := range []string{"right", "left"} {
					for range rapid.IntRange(0, 3).Draw(t, "trials") {
						s.strength(when, r, p, side, tenths(50, 130, "newtons"))
					}
				}
			}
		}
		if often("mass") {
			s.observation(standard(fhir.SystemLOINC, fhir.LOINCBodyWeight, ""), when, "", quantity(tenths(45, 120, "kilograms"), "kg"))
		}
		if rapid.IntRange(0, 5).Draw(t, "levers") == 0 {
			for _, side := range []string{"right", "left"} {
				s.observation(*coded(fhir.CodeLeverArmLength), when, side, quantity("0."+strconv.Itoa(rapid.IntRange(20, 30).Draw(t, "lever")), "m"))
			}
		}
		if often("range") {
			s.elevation(when, tenths(60, 180, "degrees"))
		}
		for _, context := range []string{"at-rest", "during-resisted-test", "worst-24h"} {
			if often(context) {
				s.painAt(when, context, strconv.Itoa(rapid.IntRange(0, 10).Draw(t, "score")))
			}
		}
		s.observation(rangeConcept(shoulder.Flexion, false), when, "left", quantity("170", "deg")) // no visit is empty
		s.asOf = when
		day = day.AddDate(0, 0, rapid.IntRange(7, 50).Draw(t, "days"))
	}
	return s
}

var (
	tag   = regexp.MustCompile(`<[^>]*>`)
	start = regexp.MustCompile(`<(th scope="row|li>|h3>|table>)`)
)

// narrativeLines is a narrative with a line for each row and entry.
func narrativeLines(div string) []string {
	div = start.ReplaceAllString(div, "\n$0")
	return strings.Split(html.UnescapeString(tag.ReplaceAllString(div, "  ")), "\n")
}

// textLines is the report as text with a line for each row and entry.
func textLines(text string) []string {
	unwrapped := regexp.MustCompile(`\n +`).ReplaceAllString(text, " ")
	return strings.Split(unwrapped, "\n")
}

// printed compares the lines of one form with the Observations.
type printed struct {
	t       *rapid.T
	b       *fhir.Bundle
	form    string
	checked map[string]int
	motion  string // of the rows that are read
}

var (
	rowStart  = regexp.MustCompile(`^\s*(at the side|90° flexion|90° abduction)\s+(?:(-)|(\S+) N(?: m)?)\s+(?:(-)|(\S+) N(?: m)?)\s+([\d.]+|-)\s+(?:(-?[\d.]+) to (-?[\d.]+))?`)
	positions = map[string]string{
		"at the side": "arm-at-side", "90° flexion": "flexion-90", "90° abduction": "abduction-90",
		"with the arm at the side": "arm-at-side", "at 90 degrees of flexion": "flexion-90", "at 90 degrees of abduction": "abduction-90",
	}
	where      = `(with the arm at the side|at 90 degrees of (?:flexion|abduction))`
	byMass     = regexp.MustCompile(`([\d.]+) N/kg, comparison side ([\d.]+) N/kg`)
	together   = regexp.MustCompile(`(\d+) sessions together: LSI ([\d.]+) % \(([\d.]+) to ([\d.]+)\)`)
	enough     = regexp.MustCompile(`probability of at least 75 %: ([\d.]+) %`)
	likely     = regexp.MustCompile(`probability of at least 75 %: .*, of at least 90 %: ([\d.]+) %`)
	wasEven    = regexp.MustCompile(`was even on \S+ with ([\d.]+) %`)
	usual      = regexp.MustCompile(`usual strength of the comparison side: LSI ([\d.]+) %`)
	best       = regexp.MustCompile(`best strength of the comparison side \(\S+\): LSI ([\d.]+) %`)
	changed    = regexp.MustCompile(`(Right|Left): (\S+) N \(\S+ %\) since (the first on )?\S+ \(MDC (\S+) N\)`)
	needs      = regexp.MustCompile(`(?i)(external|internal) rotation ` + where + ` needs (\S+) N(?: m)? on the right; measured (\S+) N(?: m)? \(limb symmetry index (\S+) %, at least (75|90) %`)
	motion     = regexp.MustCompile(`Active (flexion|abduction), \S+: right (\S+) degrees?(.*)`)
	pain       = regexp.MustCompile(`(Pain at rest|Pain during the resisted test|Worst pain in 24 hours), \S+: (\S+)/10(.*)`)
	difference = regexp.MustCompile(`([+-]?[\d.]+)(?: degrees?)?(?: \(\S+ %\))? since \S+ \((?:MDC|counts from) (\S+?)(?: degrees?)?\)`)
	levelling  = regexp.MustCompile(`(External|Internal) rotation ` + where + `, \d+ sessions together: levelling off at about (\S+) % \((\S+) to (\S+)\)`)
	forecast   = regexp.MustCompile(`(External|Internal) rotation ` + where + `, \d+ sessions together: even about (\S+) \((\S+) to (\S+)\)`)
	allEven    = regexp.MustCompile(`(?i)even in all six about (\S+) \((\S+) to (\S+)\)`)
	ratio      = regexp.MustCompile(`rotation ratio ` + where + ` .*: (?:right ([\d.]+), [^;]*)?(?:; )?(?:left ([\d.]+),)?`)
)

func (p *printed) check(line string) {
	switch name := strings.TrimSpace(line); name {
	case "External rotation", "Internal rotation":
		p.motion = strings.ToLower(strings.Fields(name)[0])
	}
	if m := rowStart.FindStringSubmatch(line); m != nil {
		p.row(m, line)
	}
	for _, m := range needs.FindAllStringSubmatch(line, -1) {
		p.needed(m, line)
	}
	p.course(line)
}

// row compares a row of the table of strength.
func (p *printed) row(m []string, line string) {
	position := positions[m[1]]
	if index := p.find(fhir.CodeLimbSymmetryIndex, p.motion, position, ""); index != nil && m[6] != "-" {
		p.same("involved strength", m[3], index, fhir.CodeInvolvedStrength, line)
		p.same("comparison strength", m[5], index, fhir.CodeComparisonStrength, line)
		p.same("index", m[6], index, "", line)
		p.same("interval", m[7], index, fhir.CodeIntervalLow, line)
		p.same("interval", m[8], index, fhir.CodeIntervalHigh, line)
		p.all("by mass", byMass, line, index, fhir.CodeInvolvedByMass, fhir.CodeComparisonByMass)
		p.all("was even", wasEven, line, index, fhir.CodeWasEven)
		p.all("usual index", usual, line, index, fhir.CodeUsualIndex)
		p.all("earlier best", best, line, index, fhir.CodeEarlierBestIndex)
	}
	p.allOfCourse("sessions together", together, line, position, fhir.CodeCourseSessions, fhir.CodeCourseIndex, fhir.CodeCourseLow, fhir.CodeCourseHigh)
	p.allOfCourse("probability of good enough", enough, line, position, fhir.CodeCourseGoodEnough)
	p.allOfCourse("probability", likely, line, position, fhir.CodeCourseEven)
	for _, m := range changed.FindAllStringSubmatch(line, -1) {
		change, detectable := "", fhir.CodeDetectablePrevious
		if m[3] != "" {
			change, detectable = fhir.CodeChangeBaseline, fhir.CodeDetectableBaseline
		}
		if o := p.find(fhir.CodeStrengthChange, p.motion, position, m[1]); o != nil {
			p.same("change of strength", m[2], o, change, line)
			p.same("detectable change", m[4], o, detectable, line)
		}
	}
}

// needed compares why a step is closed.
func (p *printed) needed(m []string, line string) {
	if index := p.find(fhir.CodeLimbSymmetryIndex, strings.ToLower(m[1]), positions[m[2]], ""); index != nil {
		p.share(m[6], m[3], index, line)
		p.same("involved strength", m[4], index, fhir.CodeInvolvedStrength, line)
		p.same("index", m[5], index, "", line)
	}
}

// share compares the strength that is needed with so many per cent of the comparison side's,
// which it follows from, rounded up.
func (p *printed) share(percent, number string, index *fhir.Observation, line string) {
	comparison := string(componentOf(index, fhir.CodeComparisonStrength).Value.(*fhir.Quantity).Value)
	of, _ := strconv.ParseFloat(percent, 64)
	whole, errWhole := strconv.ParseFloat(comparison, 64)
	needed, err := strconv.ParseFloat(number, 64)
	most := lastPlace(number) + of/100*lastPlace(comparison)/2 + slack
	if err != nil || errWhole != nil || math.Abs(needed-of/100*whole) > most {
		p.t.Fatalf("%s: %s is needed, %s %% of the comparison side's %s: %s", p.form, number, percent, comparison, line)
	}
	p.checked["needed strength"]++
}

// course compares the lines about range, pain, ratio and where a course levels off.
func (p *printed) course(line string) {
	if m := motion.FindStringSubmatch(line); m != nil {
		code := map[string]string{"flexion": fhir.LOINCFlexionActive, "abduction": fhir.LOINCAbductionActive}[m[1]]
		p.scalar("range", fhir.CodeRangeChange, code, "", m[2], m[3], line)
	}
	if m := pain.FindStringSubmatch(line); m != nil {
		context := map[string]string{
			"Pain at rest": "at-rest", "Pain during the resisted test": "during-resisted-test", "Worst pain in 24 hours": "worst-24h",
		}[m[1]]
		p.scalar("pain", fhir.CodePainChange, fhir.LOINCPainVerbalRating, context, m[2], m[3], line)
	}
	if m := levelling.FindStringSubmatch(line); m != nil {
		for i, code := range []string{fhir.CodeCourseLevel, fhir.CodeCourseLevelLow, fhir.CodeCourseLevelTop} {
			p.sameOfCourse("levelling off", m[3+i], strings.ToLower(m[1]), positions[m[2]], code, line)
		}
	}
	if m := forecast.FindStringSubmatch(line); m != nil {
		for i, code := range []string{fhir.CodeCourseDate, fhir.CodeCourseEarliest, fhir.CodeCourseLatest} {
			p.sameOfCourse("forecast", m[3+i], strings.ToLower(m[1]), positions[m[2]], code, line)
		}
	}
	if m := allEven.FindStringSubmatch(line); m != nil {
		for i, code := range []string{fhir.CodeForecastDate, fhir.CodeForecastEarliest, fhir.CodeForecastLatest} {
			p.same("forecast of all", m[1+i], results(p.b, fhir.CodeStrengthCourse)[0], code, line)
		}
	}
	if m := ratio.FindStringSubmatch(line); m != nil {
		for i, side := range []string{"right", "left"} {
			if o := p.find(fhir.CodeRotationRatio, "", positions[m[1]], side); o != nil {
				p.same("ratio", m[2+i], o, "", line)
			}
		}
	}
}

// scalar compares a range or a pain and its change since the previous session.
func (p *printed) scalar(what, change, value, context, now, rest, line string) {
	for _, o := range results(p.b, change) {
		if componentOf(o, value) == nil || componentValue(o, fhir.CodePainContext) != context {
			continue
		}
		p.same(what, now, o, value, line)
		if m := difference.FindStringSubmatch(rest); m != nil {
			p.same("change of "+map[string]string{"range": "a range", "pain": "pain"}[what], m[1], o, "", line)
			p.same("detectable change", m[2], o, fhir.CodeDetectablePrevious, line)
		}
	}
}

// find is the first Observation of a rotation, position and side, as far as they
// are given; nil if there is none.
func (p *printed) find(code, motion, position, side string) *fhir.Observation {
	sites := map[string]string{"right": fhir.SNOMEDRightShoulder, "left": fhir.SNOMEDLeftShoulder}
	motions := map[string]string{"external": fhir.SNOMEDExternalRotation, "internal": fhir.SNOMEDInternalRotation}
	for _, o := range results(p.b, code) {
		if motion != "" && componentValue(o, fhir.CodeRotation) != motions[motion] || componentValue(o, fhir.CodeArmPosition) != position {
			continue
		}
		if side == "" || valueOf(o.BodySite) == sites[strings.ToLower(side)] {
			return o
		}
	}
	return nil
}

// all compares the groups of a pattern with components of an Observation.
func (p *printed) all(what string, pattern *regexp.Regexp, line string, o *fhir.Observation, codes ...string) {
	if m := pattern.FindStringSubmatch(line); m != nil {
		for i, code := range codes {
			p.same(what, m[i+1], o, code, line)
		}
	}
}

// same compares a printed number with a component of an Observation, or with its
// value if no code is given.
func (p *printed) same(what, number string, o *fhir.Observation, code, line string) {
	if number == "" || number == "-" {
		return
	}
	value := o.Value
	if code != "" {
		c := componentOf(o, code)
		if c == nil {
			p.t.Fatalf("%s: %s %s has no component %s: %s", p.form, what, number, code, line)
		}
		value = c.Value
	}
	q, ok := value.(*fhir.Quantity)
	if !ok && valueOf(value) == number { // a day, a count
		p.checked[what]++
		return
	}
	same := sameNumber
	if ok && toTheLetter[what] {
		same = func(a, b string) bool { return strings.TrimPrefix(a, "+") == b }
	}
	if !ok || !same(number, string(q.Value)) {
		p.t.Fatalf("%s: %s is printed as %s, the Observation has %s: %s", p.form, what, number, valueOf(value), line)
	}
	p.checked[what]++
}

// toTheLetter are the quantities that both print to the same places if in the same
// unit. Changes and what can be detected of them get their places from each other.
var toTheLetter = map[string]bool{"index": true, "interval": true, "by mass": true, "sessions together": true, "ratio": true}

// sameNumber reports whether two printed numbers may be the same number: equal if
// they have as many decimal places, else as close as rounding leaves them.
func sameNumber(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	if errX != nil || errY != nil {
		return false
	}
	if lastPlace(a) == lastPlace(b) {
		return x == y
	}
	return math.Abs(x-y) <= (lastPlace(a)+lastPlace(b))/2+slack
}

const slack = 1e-9 // of floating point

// lastPlace is one in the last decimal place of a number as it is printed.
func lastPlace(number string) float64 {
	_, decimals, _ := strings.Cut(number, ".")
	return math.Pow(10, -float64(len(decimals)))
}

func TestSameNumber(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want bool
	}{
		{"1.25", "1.25", true}, {"1.25", "2.00", false}, {"88.0", "88.1", false}, {"47", "46.6", true}, {"47", "46.4", false},
		{"+9.0", "9.0", true}, {"10", "10.0", true}, {"-", "1", false},
	} {
		if got := sameNumber(tt.a, tt.b); got != tt.want {
			t.Errorf("%s and %s: %v", tt.a, tt.b, got)
		}
	}
}

// allOfCourse compares the groups of a pattern with the course of the rotation that is read.
func (p *printed) allOfCourse(what string, pattern *regexp.Regexp, line, position string, codes ...string) {
	if m := pattern.FindStringSubmatch(line); m != nil {
		for i, code := range codes {
			p.sameOfCourse(what, m[i+1], p.motion, position, code, line)
		}
	}
}

// sameOfCourse compares a printed number with the course of a rotation in a position.
func (p *printed) sameOfCourse(what, number, motion, position, code, line string) {
	o := p.find(fhir.CodeRotationCourse, motion, "", "")
	if o == nil {
		p.t.Fatalf("%s: no course of %s rotation: %s", p.form, motion, line)
	}
	p.same(what, number, o, code+"-"+position, line)
}
