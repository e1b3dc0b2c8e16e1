package shouldertest

import (
	"fmt"
	"slices"
	"strings"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// drawer draws the parts of an episode.
type drawer struct{ t *rapid.T }

// odds is true once in two to the power of the halvings, and shrinks to false. Only
// single bits are drawn without a leaning to small and to extreme numbers.
func (d drawer) odds(halvings int, label string) bool {
	for range halvings {
		if !rapid.Bool().Draw(d.t, label) {
			return false
		}
	}
	return true
}

func (d drawer) between(low, high int, label string) int {
	return rapid.IntRange(low, high).Draw(d.t, label)
}

// Draw draws an episode of a right shoulder: good courses, so that readiness is
// reached often enough to be doubted, and wild ones; with slips of the pen, losses,
// pains of every occasion, repairs and what clinicians state about them.
func Draw(t *rapid.T) *shoulder.Episode {
	d := drawer{t}
	e := &shoulder.Episode{Involved: shoulder.Right, ComparisonAffected: d.odds(4, "bilateral")}
	good := !d.odds(1, "wild course")
	visits := rapid.SampledFrom([]int{2, 1, 3, 4}).Draw(t, "visits")
	for day := 0; len(e.Sessions) < visits; day += rapid.SampledFrom([]int{14, 7, 21, 28, 42, 43, 3}).Draw(t, "days apart") {
		e.Sessions = append(e.Sessions, d.session(day, good))
	}
	if d.odds(2, "slip") {
		d.slip(&e.Sessions[d.between(0, visits-1, "slip of visit")])
	}
	if d.odds(2, "operated") {
		d.healing(e)
	}
	if d.odds(2, "examined") {
		d.examinations(e)
	}
	return e
}

// session is one visit: complete and even on a good course, anything otherwise.
func (d drawer) session(day int, good bool) shoulder.Session {
	v := Visit{Day: day, Belt: d.odds(6, "belt"), Break: d.odds(6, "break test")}
	v.ER, v.LeftER = d.strengths(good, "external")
	v.IR, v.LeftIR = d.strengths(good, "internal")
	v.Flexion, v.Abduction = d.score(good, 135, 180, 60, "flexion"), d.score(good, 135, 180, 60, "abduction")
	if d.odds(2, "passive") {
		v.PassiveFlexion, v.PassiveAbduction = d.score(good, 150, 180, 60, "passive flexion"), d.score(good, 150, 180, 60, "passive abduction")
	}
	v.Pain, v.RestPain, v.WorstPain = d.pain(good, "pain in the test"), d.pain(good, "pain at rest"), d.pain(good, "worst pain")
	if d.odds(2, "manual test") {
		for i := range v.Grades {
			v.Grades[i] = shoulder.MuscleGrade(d.between(int(shoulder.GradeUnknown), int(shoulder.Grade5), "grade"))
		}
	}
	v.Steady = d.positions("steady")
	v.Unsteady = d.positions("unsteady")
	s := v.Session()
	d.aboutOnePosition(s.Pains)
	return s
}

func (d drawer) positions(label string) (some []shoulder.ArmPosition) {
	if d.odds(2, label) {
		return []shoulder.ArmPosition{rapid.SampledFrom(shoulder.TrainedPositions[:]).Draw(d.t, label+" in")}
	}
	return nil
}

// strengths are one to three trials of both sides in the three positions.
func (d drawer) strengths(good bool, label string) (right, left [3]string) {
	for i := range right {
		if !good && d.odds(3, label+" missing") {
			continue
		}
		trials := d.between(1, 3, label+" trials")
		if good {
			right[i], left[i] = d.trials(d.strength(label), trials), d.trials(100, trials)
			continue
		}
		right[i], left[i] = d.trials(d.between(0, 150, label), trials), d.trials(d.between(0, 130, label+" left"), trials)
	}
	return right, left
}

// strength is near that of the left side, seldom anything.
func (d drawer) strength(label string) int {
	if d.odds(6, label+" far") {
		return d.between(0, 150, label)
	}
	if d.odds(5, label+" a little less") {
		return d.between(85, 90, label)
	}
	return d.between(91, 106, label)
}

// trials are readings near a strength; seldom one stands apart.
func (d drawer) trials(strength, n int) string {
	values := make([]string, 0, n)
	for range n {
		values = append(values, fmt.Sprint(strength+d.between(0, 3, "reading")))
	}
	if d.odds(8, "trial apart") {
		values[0] = fmt.Sprint(2*strength + 20)
	}
	return strings.Join(values, " ")
}

// score is a number from low, or from lowest on a wild course, to high; seldom none.
func (d drawer) score(good bool, low, high, lowest int, label string) string {
	if d.odds(5, label+" missing") {
		return ""
	}
	if !good {
		low = lowest
	}
	return fmt.Sprint(d.between(low, high, label))
}

func (d drawer) pain(good bool, label string) string {
	if good && !d.odds(5, label+" high") {
		return d.score(true, 0, 3, 0, label)
	}
	if good {
		return d.score(true, 4, 10, 0, label)
	}
	return d.score(true, 0, 10, 0, label)
}

// aboutOnePosition makes some pains those of one position, or of no stated occasion.
func (d drawer) aboutOnePosition(pains []shoulder.Pain) {
	for i := range pains {
		if d.odds(3, "pain of one position") {
			pains[i].Position = rapid.SampledFrom(shoulder.TrainedPositions[:]).Draw(d.t, "position of pain")
		}
		if d.odds(6, "pain without occasion") {
			pains[i].Context = shoulder.PainUnstated
		}
	}
}

// slip is what goes wrong with a whole visit.
func (d drawer) slip(s *shoulder.Session) {
	factor := exact.Int(1)
	kind := rapid.SampledFrom([]string{"exchanged sides", "other unit", "loss", "weaker left side", "zero"}).Draw(d.t, "kind of slip")
	switch kind {
	case "other unit":
		factor = exact.MustParse("0.2248") // lbf in N
	case "loss":
		factor = exact.MustParse("0.5")
	case "weaker left side":
		factor = exact.MustParse("0.75")
	case "zero":
		factor = exact.Int(0)
	}
	for i := range s.Trials {
		t := &s.Trials[i]
		switch {
		case kind == "exchanged sides":
			t.Side = t.Side.Other()
		case kind == "other unit", kind == "weaker left side" && t.Side == shoulder.Left,
			(kind == "loss" || kind == "zero") && t.Side == shoulder.Right:
			t.Value = t.Value.Mul(factor)
		}
		t.Confirmed = d.odds(3, "confirmed")
	}
}

// healing is a repair with what was stated about it.
func (d drawer) healing(e *shoulder.Episode) {
	last := lastDay(e)
	if !d.odds(2, "no repair recorded") {
		r := shoulder.Repair{Source: Next(), Side: shoulder.Right}
		if !d.odds(3, "undated") {
			r.Date = Day(last - d.between(0, 60*7, "days since repair"))
		}
		e.Repairs = append(e.Repairs, r)
	}
	if d.odds(2, "massive") {
		e.Tears = append(e.Tears, shoulder.Tear{Source: Next(), Centimetres: exact.Int(5)})
	}
	if d.odds(2, "clearance") {
		e.Clearances = append(e.Clearances, shoulder.Statement{
			Source: Next(), When: Day(last - d.between(0, 60, "days since clearance")), Cleared: !d.odds(2, "refused"),
		})
	}
	for range d.between(0, 2, "permits") {
		e.Permits = append(e.Permits, shoulder.Permit{
			Source: Next(), When: Day(last - d.between(0, 60, "days since permit")),
			Phase: rapid.SampledFrom(shoulder.LoadPhases[:]).Draw(d.t, "phase"),
		})
	}
	slices.SortStableFunc(e.Permits, func(a, b shoulder.Permit) int { return a.When.Compare(b.When) })
}

func (d drawer) examinations(e *shoulder.Episode) {
	x := shoulder.Statement{Source: Next(), Cleared: !d.odds(2, "found unfit"), IsDay: true}
	if x.Cleared || !d.odds(2, "refusal without a date") {
		x.When = Day(lastDay(e) - d.between(0, 30, "days since examination"))
	}
	e.Examinations = append(e.Examinations, x)
}

// lastDay is the number of the day of the last session.
func lastDay(e *shoulder.Episode) int {
	return int(e.Sessions[len(e.Sessions)-1].When.Sub(Day(0)).Hours() / 24)
}
