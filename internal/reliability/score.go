// Package reliability works out a clinic's own measurement error from its test-retest
// data: Read reads the file, Analyse does the statistics, and Study.Settings gives what
// they come to in a protocol.
package reliability

// Score is one measured strength, with what the file says of it. What it does not say
// is empty, and equal for all scores.
type Score struct {
	Subject string  // who was measured
	Side    string  // in lower case
	Test    string  // which of several strengths, such as a motion in a position of the arm
	Session string  // day on which the measurement was repeated
	Rater   string  // who measured
	Trial   string  // repetition within a session
	Value   float64 // above 0, in any one unit
	Line    int     // of the file, from 1
}

// target is what was measured again and again: one strength of one side of a subject.
func (s *Score) target() target { return target{s.Subject, s.Side, s.Test} }

// occasion is when and by whom it was measured.
func (s *Score) occasion() occasion { return occasion{s.Session, s.Rater} }

// target has the name that Shrout and Fleiss 1979 give to what is rated.
type target struct{ subject, side, test string }

func (t target) String() string { return joined("subject "+t.subject, t.side, t.test) }

type occasion struct{ session, rater string }

func (o occasion) String() string {
	var session, rater string
	if o.session != "" {
		session = "session " + o.session
	}
	if o.rater != "" {
		rater = "rater " + o.rater
	}
	return joined(session, rater)
}

// joined are the words that are not empty, with commas.
func joined(words ...string) (text string) {
	for _, word := range words {
		switch {
		case word == "":
		case text == "":
			text = word
		default:
			text += ", " + word
		}
	}
	return text
}
