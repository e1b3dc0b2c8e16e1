package reliability

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// role is what a column of the file holds.
type role uint8

const (
	unknown role = iota
	subject
	side
	test
	session
	rater
	trial
	value
	ignore
)

var roleNames = [...]string{"", "subject", "side", "test", "session", "rater", "trial", "value", "ignore"}

func (r role) String() string { return roleNames[r] }

// headers are the words of a header that say what a column holds, beside the names of
// the roles.
var headers = map[string]role{
	"patient": subject, "participant": subject,
	"day": session, "visit": session,
	"examiner": rater, "tester": rater,
	"score": value, "strength": value,
}

// Template is a file to fill in.
const Template = `subject,side,test,session,rater,trial 1,trial 2,trial 3
P01,right,external rotation at side,1,A,,,
P01,right,external rotation at side,2,A,,,
P01,left,external rotation at side,1,A,,,
P01,left,external rotation at side,2,A,,,
`

// layout is what the columns hold. Scores stand in the columns of the role wide, a
// column a trial or a session; if wide is value, in one column.
type layout struct {
	header []string
	roles  []role
	wide   role
}

// newLayout reads the header. The roles of some columns may be named, as in
// "subject=Code,trial=T1,trial=T2". The error lists every problem.
func newLayout(header []string, named string) (layout, error) {
	l := layout{header: header, roles: make([]role, len(header))}
	for i, name := range header {
		l.roles[i] = roleOf(name)
	}
	problems := l.assign(named)
	for i, r := range l.roles {
		if r == unknown {
			problems = append(problems, fmt.Errorf("line 1, %s: not known what it holds; call it subject, side, test, session, rater, trial or value, "+
				"or say it with --columns, as in --columns \"ignore=%s\"", l.column(i), header[i]))
		}
	}
	if len(problems) == 0 {
		problems = l.findScores()
	}
	return l, errors.Join(problems...)
}

// roleOf tells the role by the header; numbers after the word are left out.
func roleOf(name string) role {
	word := strings.TrimRight(normal(name), "0123456789 ._-#")
	if i := slices.Index(roleNames[1:ignore], word); i >= 0 {
		return role(i + 1)
	}
	return headers[word]
}

func normal(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// assign gives columns the roles that are named.
func (l *layout) assign(named string) (problems []error) {
	if named == "" {
		return nil
	}
	for word := range strings.SplitSeq(named, ",") {
		name, column, _ := strings.Cut(word, "=")
		r := slices.Index(roleNames[:], normal(name))
		i := slices.IndexFunc(l.header, func(h string) bool { return normal(h) == normal(column) })
		switch {
		case r <= 0:
			problems = append(problems, fmt.Errorf("--columns: found %q; expected one of %s, =, and the name of a column", word, strings.Join(roleNames[1:], ", ")))
		case i < 0:
			problems = append(problems, fmt.Errorf("--columns: the file has no column %q", column))
		default:
			l.roles[i] = role(r)
		}
	}
	return problems
}

// findScores finds where the scores stand, and columns that are missing or too many.
func (l *layout) findScores() (problems []error) {
	count := map[role]int{}
	for _, r := range l.roles {
		count[r]++
	}
	switch {
	case count[value] > 0:
		l.wide = value
	case count[trial] > 0:
		l.wide = trial
	case count[session] > 1:
		l.wide = session
	default:
		problems = append(problems, errors.New("line 1: no column holds the strengths; call it value, or have a column for each trial, as trial 1, trial 2"))
	}
	if count[subject] == 0 {
		problems = append(problems, errors.New("line 1: no column says who was measured; call it subject, or say it with --columns \"subject=...\""))
	}
	for _, r := range [...]role{subject, side, test, session, rater, trial, value} {
		if count[r] > 1 && r != l.wide || r == value && count[r] > 1 {
			problems = append(problems, fmt.Errorf("line 1: %d columns are called %s; expected one", count[r], r))
		}
	}
	return problems
}

// column names a column in an error.
func (l *layout) column(i int) string { return fmt.Sprintf("column %d (%s)", i+1, l.header[i]) }

// wideLabel is which trial or session a column of scores is: its number, or else all of
// its header.
func (l *layout) wideLabel(i int) string {
	name := strings.TrimSpace(l.header[i])
	number := strings.TrimLeft(name[len(strings.TrimRight(name, "0123456789")):], "0")
	if roleOf(name) == unknown || number == "" {
		return name
	}
	return number
}
