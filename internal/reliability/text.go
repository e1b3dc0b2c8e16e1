package reliability

import (
	"fmt"
	"math"
	"strings"
)

// Text is the study in words, for a therapist.
func (s *Study) Text() string {
	w := &writer{}
	w.line("%d subjects, %s; sessions: %d, raters: %d, trials in a session: %.3g; %d scores.",
		s.Subjects, count(s.Targets, "strength that was repeated", "strengths that were repeated"), len(s.Sessions), len(s.Raters), s.Trials, s.Scores)
	w.list("Left out:", s.LeftOut)
	w.list("Please check:", s.warnings())
	w.list("More than twice as much one time as another. Slips of the pen?", s.Doubts)
	w.means(s.Means)
	w.repeats(s.Repeats)
	w.parts(s)
	w.tables(s.Tables)
	return w.String()
}

type writer struct{ strings.Builder }

func (w *writer) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

// list writes a heading and a list below it, or nothing.
func (w *writer) list(heading string, items []string) {
	if len(items) == 0 {
		return
	}
	w.line("\n%s", heading)
	for i, item := range items {
		if i == maxListed {
			w.line("  - and %d more", len(items)-maxListed)
			break
		}
		w.line("  - %s", item)
	}
}

// maxListed is how many entries of a list are written.
const maxListed = 20

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// systematicRatio is how much larger agreement than consistency is warned about as
// systematic. Ours.
const systematicRatio = 1.25

func (s *Study) warnings() (warnings []string) {
	if s.Subjects < enoughSubjects {
		warnings = append(warnings, fmt.Sprintf("%d subjects are few: the true error may lie anywhere within the limits below. Measure %d or more before you rely on it.", s.Subjects, enoughSubjects))
	}
	if len(s.Repeats) == 0 {
		return warnings
	}
	r := s.widest()
	if r.Agreement.Value > systematicRatio*r.Consistency.Value {
		warnings = append(warnings, "Somebody reads higher than another, or one session was higher than another: see the means. That is in the error of agreement and can be mended; the error of consistency hides it.")
	}
	if r.OtherSession && !r.OtherRater {
		warnings = append(warnings, "All was measured by one rater, or the file does not say by whom: the error holds while the same one measures.")
	}
	return warnings
}

func (w *writer) means(means []Mean) {
	if len(means) == 0 {
		return
	}
	w.line("\nMeans, in %% of the mean of all")
	for _, m := range means {
		w.line("  %-28s %6.1f", m.Factor+" "+m.Name, m.Percent)
	}
}

func (w *writer) repeats(repeats []Repeat) {
	if len(repeats) == 0 {
		return
	}
	w.line("\nError of the mean of a session's trials, in %% of the strength (95 %% limits)")
	w.line("  %-28s %-22s %s", "measured again", "agreement", "consistency")
	for _, r := range repeats {
		w.line("  %-28s %-22s %s", r.name(), limitsText(r.Agreement), limitsText(r.Consistency))
	}
	last := repeats[len(repeats)-1]
	w.line("Agreement counts all differences and is what decides; consistency leaves out those between the means.")
	w.line("The difference of two measurements is beyond error from about %s %% (95 %%, %s).", Percent(detectable(last.Agreement.Value)), last.name())
}

func (r *Repeat) name() string {
	switch {
	case !r.OtherRater:
		return "another session"
	case !r.OtherSession:
		return "another rater, same session"
	}
	return "another session and rater"
}

// kinds is what was varied.
func (r *Repeat) kinds() string {
	switch {
	case !r.OtherRater:
		return "sessions"
	case !r.OtherSession:
		return "raters"
	}
	return "sessions and raters"
}

// detectable is the change that measurement error alone reaches in one of twenty.
//
// Source: Weir 2005, J Strength Cond Res 19:231-40 (minimal difference at 95 %).
func detectable(percent float64) float64 { return 1.96 * math.Sqrt2 * percent }

func limitsText(e Estimate) string {
	return fmt.Sprintf("%s (%s to %s)", Percent(e.Value), Percent(e.Low), Percent(e.High))
}

// parts writes what of the error comes from one trial to the next, and what repeating
// trials is worth.
func (w *writer) parts(s *Study) {
	if s.Trials <= 1 {
		w.line("\nThere is one trial in a session, so it cannot be told what repeating it is worth.")
		return
	}
	w.line("\nWhere the error comes from, in %% of the strength")
	w.line("  %-28s %6s", "from trial to trial", Percent(s.TrialError))
	if len(s.Repeats) == 0 {
		return
	}
	w.line("  %-28s %6s", "between "+s.widest().kinds(), Percent(s.Between()))
	for n := 1; n <= 4; n++ {
		w.line("  %-28s %6s", "together, mean of "+count(n, "trial", "trials"), Percent(s.ErrorOf(n)))
	}
	if day, ok := s.DayShare(s.Trials); ok {
		w.line("  Of the variance, %.0f %% is shared by the tests of a side on one day.", day)
	}
}

func (w *writer) tables(tables []Table) {
	if len(tables) == 0 {
		return
	}
	w.line("\nCoefficients (95 %% limits), and the standard error of agreement in the unit of the data")
	w.line("  %-34s %8s  %-22s %-22s %s", "", "subjects", "ICC(2,1), agreement", "ICC(3,1), consistency", "error")
	for _, t := range tables {
		name := t.Name
		if name == "" {
			name = "all"
		}
		w.line("  %-34s %8d  %-22s %-22s %.3g", name, t.Subjects, coefficient(t.ICC21), coefficient(t.ICC31), t.SEMAgreement)
	}
}

func coefficient(e Estimate) string {
	return fmt.Sprintf("%.2f (%.2f to %.2f)", e.Value, e.Low, e.High)
}
