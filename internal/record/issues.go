package record

import (
	"slices"
	"strconv"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// Issues lists everything noteworthy about the input, sorted: what intake dropped or
// corrected, and notes on the measurements that decide. For an answer that is to be posted
// it also lists the earlier results in the record that are kept.
func Issues(a *assess.Assessment, reading *intake.Reading, o Output) []fault.Issue {
	n := noteCollector{a: a, sources: reading.Sources, issues: slices.Clone(reading.Issues)}
	n.noteScores()
	n.noteDoubts()
	n.notePermit()
	n.noteUnpaired()
	n.noteStale()
	n.noteMissing()
	if o.posted() {
		n.noteStored(reading, o)
	}
	fault.Sort(n.issues)
	slices.SortStableFunc(n.issues, errorsFirst)
	return slices.Compact(n.issues)
}

// errorsFirst sorts errors, which mean that the answer itself is not reliable, before
// everything else.
func errorsFirst(a, b fault.Issue) int {
	return max(int(b.Severity), int(fault.Warning)) - max(int(a.Severity), int(fault.Warning))
}

// noteCollector collects the notes on the measurements of an assessment.
type noteCollector struct {
	a       *assess.Assessment
	sources []intake.Source
	issues  []fault.Issue
}

// note adds a warning at the path of an input.
func (n *noteCollector) note(at shoulder.SourceID, kind fault.Kind, detail, diagnostic string) {
	path := ""
	if at >= 0 && int(at) < len(n.sources) {
		path = n.sources[at].Path
	}
	n.issues = append(n.issues, fault.Issue{Severity: fault.Warning, Kind: kind, Path: path, Detail: detail, Diagnostic: diagnostic})
}

// noteScores adds notes on the scores in use: the current one of each test and, if that is
// older, the one with which the deciding index compares.
func (n *noteCollector) noteScores() {
	type test struct {
		measure.Setting
		side      shoulder.Side
		dimension shoulder.Dimension
	}
	scores := n.a.Measurements.Scores
	seen := make([]test, 0, 4*len(shoulder.Positions))
	for i := len(scores) - 1; i >= 0 && n.a.Current(scores[i].When); i-- {
		s := &scores[i]
		if t := (test{s.Setting, s.Side, s.Dimension}); !slices.Contains(seen, t) {
			seen = append(seen, t)
			n.noteScore(s)
		}
	}
	for i := range n.a.Readiness.Motions {
		for k := range n.a.Readiness.Motions[i].Positions {
			if s := n.a.Readiness.Motions[i].Positions[k].Symmetry; s != nil && s.CarriedForward {
				n.noteScore(s.Comparison)
			}
		}
	}
}

func (n *noteCollector) noteScore(s *measure.Score) {
	limits := &n.a.Protocol.Trials
	if s.FewTrials {
		kind, detail := fault.SingleTrial, "one trial only; expected at least "
		if s.Trials > 1 {
			detail = "few trials; expected at least "
		}
		n.note(s.First, kind, detail+limits.Minimum.Value.String()+" of each test and side", test(s))
	}
	if s.Doubts.Has(measure.TrialsDisagree) {
		n.noteTrials(s)
		return
	}
	if s.Scattered {
		n.note(s.First, fault.TrialsScattered,
			"the trials vary more than the protocol allows; expected a coefficient of variation of at most "+limits.Variation.Value.String()+" %",
			test(s)+": coefficient of variation "+strconv.FormatFloat(s.Variation, 'f', 1, 64)+" %")
	}
	if s.Outlier >= 0 {
		n.note(s.Outlier, fault.TrialOutlier,
			"this trial stands apart from the median of the others by more than "+limits.Outlier.Value.String()+" %; it was used all the same", test(s))
	}
}

// trials are the trials of a score.
func (n *noteCollector) trials(s *measure.Score) (trials []*shoulder.Trial) {
	for i := range n.a.Episode.Sessions[s.Session].Trials {
		t := &n.a.Episode.Sessions[s.Session].Trials[i]
		setting := measure.Setting{
			Motion: t.Motion, Position: t.Position, Support: t.Support, Contraction: t.Contraction, Instrument: t.Instrument,
		}
		if setting == s.Setting && t.Side == s.Side && t.Dimension == s.Dimension {
			trials = append(trials, t)
		}
	}
	return trials
}

// test names the test of a score by its codes.
func test(s *measure.Score) string {
	return s.Motion.Name() + ", " + s.Position.String() + ", " + s.Side.String()
}

// mismatches say why a score of the involved side was not compared.
var mismatches = [...]string{
	measure.NoComparison:       "the other side was not tested in this position; expected the same test of both sides",
	measure.TooOld:             "the other side's test is too old to compare with; expected one that is at most as old as the protocol allows",
	measure.SupportDiffers:     "the sides were not supported alike; expected the same arm support on both",
	measure.ContractionDiffers: "a make and a break test are not comparable; expected the same contraction type on both sides",
	measure.InstrumentDiffers:  "the sides were tested with different instruments; expected the same method on both",
	measure.DimensionDiffers:   "a force and a torque are not comparable without the lever arms; expected the same quantity on both sides",
	measure.ComparisonZero:     "the other side's strength is zero; expected a value above 0",
}

var mismatchKinds = [...]fault.Kind{
	measure.NoComparison:       fault.NotMeasured,
	measure.TooOld:             fault.Stale,
	measure.SupportDiffers:     fault.NotComparable,
	measure.ContractionDiffers: fault.NotComparable,
	measure.InstrumentDiffers:  fault.NotComparable,
	measure.DimensionDiffers:   fault.NotComparable,
	measure.ComparisonZero:     fault.NotComparable,
}

// noteUnpaired adds notes on the current scores of the involved side without one of the
// other side to compare with.
func (n *noteCollector) noteUnpaired() {
	unpaired := n.a.Measurements.Unpaired
	for i := range unpaired {
		u := &unpaired[i]
		if n.a.Current(u.Involved.When) {
			n.note(u.Involved.First, mismatchKinds[u.Reason], mismatches[u.Reason], test(u.Involved))
		}
	}
}

// noteStale adds notes on indices that are too old to decide.
func (n *noteCollector) noteStale() {
	for i := range n.a.Readiness.Motions {
		for k := range n.a.Readiness.Motions[i].Positions {
			if s := n.a.Readiness.Motions[i].Positions[k].Stale; s != nil {
				n.note(s.Involved.First, fault.Stale,
					"too old to decide with; expected a test at most "+n.a.Protocol.Pairing.Current.Value.String()+" days before the assessment", test(s.Involved))
			}
		}
	}
}

// noteMissing adds notes on what a decision needs and was not measured. They have no path
// in the input.
func (n *noteCollector) noteMissing() {
	for i := range n.a.Plan.Requests {
		r := &n.a.Plan.Requests[i]
		if what, missing := missing(r); missing {
			n.note(-1, fault.NotMeasured, "a measurement that a decision needs is missing", what)
		}
	}
}

// missing names a request for something that was not measured.
func missing(r *plan.Request) (what string, is bool) {
	switch r.Why {
	case plan.WhyMissing, plan.WhyProvisional, plan.WhyManualOnly, plan.WhyBeforeFunction:
	default:
		return "", false
	}
	switch r.Ask {
	case plan.AskStrength:
		return "strength of " + r.Motion.Name() + ", " + r.Position.String(), true
	case plan.AskRange:
		return "active range of " + r.Movement.String(), true
	case plan.AskPassive:
		return "passive range of " + r.Movement.String(), true
	case plan.AskPain:
		return "pain during the resisted test", true
	case plan.AskRestPain:
		return "pain at rest", true
	case plan.AskWorstPain:
		return "worst pain of the day", true
	case plan.AskOutcome:
		return "outcome measure " + r.Outcome.ID, true
	case plan.AskSteadiness:
		return "whether the arm is held steady, " + r.Position.String(), true
	}
	return "", false
}
