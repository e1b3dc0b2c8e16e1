package record

import (
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// confirmable is how a doubtful measurement can be confirmed instead of being repeated.
const confirmable = " an Observation measurement-confirmed of a clinician with the strengths in focus"

// doubtDetails are the texts of the issues: what was found and what is expected.
var doubtDetails = [...]string{
	measure.TrialsDisagree:     "the trials of one test cannot all be right, so that the test decides nothing; expected the test repeated, or" + confirmable,
	measure.SidesMayBeSwapped:  "the session reads as if its two sides were exchanged, so that it decides nothing; expected the sides corrected, the tests repeated, or" + confirmable,
	measure.UnitMayBeWrong:     "the session reads as if its strengths were in another unit, so that it decides nothing; expected the unit corrected, the tests repeated, or" + confirmable,
	measure.ComparisonDeclined: "the comparison side lost strength, so that no index confirms evenness; expected that side tested again, and the reason found",
}

// noteTrials adds a note on trials that disagree, at the path of the outlier.
func (n *noteCollector) noteTrials(s *measure.Score) {
	at := s.Outlier
	if at < 0 {
		at = s.First
	}
	unit := s.Dimension.Unit()
	var values []string
	for _, t := range n.trials(s) {
		values = append(values, amount(t.Value, unit))
	}
	n.noteDoubt(at, measure.TrialsDisagree, test(s)+": "+strings.Join(values, ", ")+" "+unit)
}

func (n *noteCollector) noteDoubt(at shoulder.SourceID, d measure.Doubt, diagnostic string) {
	n.note(at, doubtKinds[d], doubtDetails[d], diagnostic)
}

// noteDoubts adds notes on doubts about a whole session or the comparison side, at the
// path of the first trial of the test that shows it most clearly.
func (n *noteCollector) noteDoubts() {
	for _, d := range n.a.Readiness.Doubts {
		if d.Doubt == measure.TrialsDisagree {
			continue // noted with the score
		}
		n.noteDoubt(d.Score.First, d.Doubt, scoreText(d.Score)+"; "+scoreText(d.Other))
	}
}

// notePermit adds a note on a permitted load that does not count.
func (n *noteCollector) notePermit() {
	h := &n.a.Readiness.Tissue.Healing
	if h.TooEarly == nil {
		return
	}
	n.note(h.TooEarly.Source, fault.PermitTooEarly,
		"permitted so far before the usual week of the phase that it does not count; expected the right phase or date, or the permit stated again at most "+
			n.a.Protocol.Tissue.PermitAhead.Value.String()+" weeks before that week",
		h.TooEarly.Phase.String()+" on "+h.TooEarly.When.Format(time.DateOnly)+", repair on "+h.Repair.Date.Format(time.DateOnly))
}

// scoreText is a text with the test, value and date of a score.
func scoreText(s *measure.Score) string {
	unit := s.Dimension.Unit()
	return test(s) + ": " + amount(s.Value, unit) + " " + unit + " on " + s.When.Format(time.DateOnly)
}
