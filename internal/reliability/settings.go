package reliability

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"evenreach.example/internal/protocol"
)

// Condition is how was measured in the study: which of a protocol's errors it is of.
type Condition uint8

// The conditions, each with no less error than the one before.
const (
	Stabilised Condition = iota
	Usual
	Unstabilised
)

var conditionNames = [...]string{"stabilised", "usual", "unstabilised"}

// String is the condition's name in a protocol file.
func (c Condition) String() string { return conditionNames[c] }

// ParseCondition reads the name of a condition.
func ParseCondition(name string) (Condition, error) {
	for i, n := range conditionNames {
		if n == name {
			return Condition(i), nil
		}
	}
	return 0, fmt.Errorf("condition %q: expected one of %s", name, strings.Join(conditionNames[:], ", "))
}

// Setting is a value for a protocol file.
type Setting struct {
	Group, Name string // such as error and usual
	Value       string
	Unit        string // UCUM
	Source      string
}

// The largest values that a protocol takes, in per cent.
const (
	largestError  = 40
	largestSpread = 60
)

// Settings is what the study comes to in a protocol, to lie over the values of p. The
// error for it is that of agreement, because a patient who is measured again meets
// another day and often another rater. The error says why there is none.
func (s *Study) Settings(c Condition, p *protocol.Protocol) ([]Setting, error) {
	if len(s.Repeats) == 0 || !s.widest().OtherSession {
		return nil, errors.New("all was measured in one session. What decides is how far one day differs from another: measure the same people again on another day")
	}
	own := math.Round(10*s.published(p)) / 10
	if own > largestError {
		return nil, fmt.Errorf("an error of %.1f %% is more than any protocol takes (%d %%): find its cause before you decide by such measurements", own, largestError)
	}
	source := s.source()
	settings := conditions(c, own, source, p)
	if s.trial > 0 {
		share := 100 * s.trial / p.Trials.Published.Float() / s.varianceOf(p.Trials.Published.Float())
		settings = append(settings, Setting{"trials", "share", fmt.Sprintf("%.0f", share), "%", source})
	}
	if day, ok := s.DayShare(p.Trials.Published.Float()); ok && s.Subjects >= enoughSubjects {
		settings = append(settings, Setting{"error", "day", fmt.Sprintf("%.0f", day), "%", source})
	}
	if known := s.spread(); known > p.Course.ErrorSpread.Float() {
		settings = append(settings, Setting{"course", "errorSpread", fmt.Sprintf("%.0f", known), "%", source + "; how well so small a study knows its error"})
	}
	return settings, nil
}

// published is the error of the mean of as many trials as a protocol's errors hold for,
// in per cent. What single trials say of it follows from the protocol's share.
func (s *Study) published(p *protocol.Protocol) float64 {
	n := p.Trials.Published.Float()
	if s.trial > 0 {
		return percent(s.varianceOf(n))
	}
	share := p.Trials.Share.Float() / 100
	return s.widest().Agreement.Value / math.Sqrt(1-share+share*n/s.Trials)
}

// spread is the standard deviation of the logarithm of the error's estimate, in per
// cent.
//
// Source: the delta method on a chi-squared variance.
func (s *Study) spread() float64 {
	return math.Min(100/math.Sqrt(2*s.widest().Degrees), largestSpread)
}

func (s *Study) source() string {
	few := ""
	if s.Subjects < enoughSubjects {
		few = ", which are few"
	}
	e := s.widest().Agreement
	return fmt.Sprintf("own test-retest study: %d subjects%s, %d sessions, raters: %d, trials in a session: %.3g; agreement %s %% as measured, 95 %% limits %s to %s %%",
		s.Subjects, few, len(s.Sessions), len(s.Raters), s.Trials, Percent(e.Value), Percent(e.Low), Percent(e.High))
}

// conditions sets the error of a condition, and moves those that would contradict it:
// the better condition has no more error.
func conditions(c Condition, own float64, source string, p *protocol.Protocol) (settings []Setting) {
	present := [...]protocol.Setting{p.Error.Stabilised, p.Error.Usual, p.Error.Unstabilised}
	for i, now := range present {
		why := source
		switch is := Condition(i); {
		case is < c && now.Float() > own:
			why = fmt.Sprintf("not above error.%s, which is from our own study", c)
		case is > c && now.Float() < own:
			why = fmt.Sprintf("not below error.%s, which is from our own study", c)
		case is != c:
			continue
		}
		settings = append(settings, Setting{"error", conditionNames[i], fmt.Sprintf("%.1f", own), "%", why})
	}
	return settings
}

// YAML writes settings as lines of a protocol file.
func YAML(settings []Setting) string {
	var b strings.Builder
	for _, group := range [...]string{"trials", "error", "course"} {
		head := group + ":\n"
		for _, s := range settings {
			if s.Group != group {
				continue
			}
			fmt.Fprintf(&b, "%s  %s:\n    {value: %s, unit: %q, source: %q}\n", head, s.Name, s.Value, s.Unit, s.Source)
			head = ""
		}
	}
	return b.String()
}

// Percent writes a percentage with one place, or "over 100".
func Percent(x float64) string {
	if !(x <= 100) {
		return "over 100"
	}
	return fmt.Sprintf("%.1f", x)
}
