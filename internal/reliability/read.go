package reliability

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// Read reads test-retest data from a table: a header, then the scores, of which a line
// may hold several in a column each (trial 1, trial 2 or session 1, session 2). Columns
// are separated by commas, or by semicolons or tabs, and then decimals may have a comma.
// What columns hold is told by the header or named, as in "subject=Code,ignore=Notes". An
// empty score is one that was not measured. Sessions that are dates are numbered. The error lists every problem by line and
// column.
func Read(r io.Reader, columns string) ([]Score, error) {
	raw, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	text := strings.TrimPrefix(string(raw), "\ufeff")
	if strings.ContainsRune(text, 0) {
		return nil, errors.New("not plain text; save the table as CSV, in UTF-8")
	}
	t := table{csv: newReader(text), seen: map[Score]int{}}
	header, err := t.csv.Read()
	if err != nil {
		return nil, errors.New("line 1: expected a header")
	}
	if t.layout, err = newLayout(header, columns); err != nil {
		return nil, err
	}
	return t.read()
}

// newReader tells by the first line what separates the columns.
func newReader(text string) *csv.Reader {
	reader := csv.NewReader(strings.NewReader(text))
	reader.FieldsPerRecord = -1 // told with the line below
	first, _, _ := strings.Cut(text, "\n")
	for _, separator := range ";\t" {
		if strings.ContainsRune(first, separator) {
			reader.Comma = separator
			break
		}
	}
	return reader
}

// table is what was read so far.
type table struct {
	layout
	csv      *csv.Reader
	scores   []Score
	seen     map[Score]int // line of a score by all but its value and line
	sides    []string
	problems []error
}

func (t *table) read() ([]Score, error) {
	for {
		record, err := t.csv.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, errors.Join(append(t.problems, err)...)
		}
		if line, _ := t.csv.FieldPos(0); strings.Join(record, "") != "" {
			t.record(line, record)
		}
	}
	if len(t.scores) == 0 && len(t.problems) == 0 {
		return nil, errors.New("there is no score below the header")
	}
	numberSessions(t.scores)
	return t.scores, errors.Join(t.problems...)
}

// record reads the scores of a line.
func (t *table) record(line int, record []string) {
	if len(record) != len(t.header) {
		t.report(line, "found %d columns; expected %d as in the header", len(record), len(t.header))
		return
	}
	score := Score{Line: line}
	for i, cell := range record {
		t.label(&score, i, strings.TrimSpace(cell))
	}
	for i, cell := range record {
		if t.roles[i] != t.wide || strings.TrimSpace(cell) == "" {
			continue
		}
		number, err := parseScore(cell, t.csv.Comma != ',')
		if err != nil {
			t.report(line, "%s: found %q; %w", t.column(i), cell, err)
			continue
		}
		t.add(score, i, number)
	}
}

// label reads what a cell says of the scores of its line.
func (t *table) label(s *Score, i int, cell string) {
	field := s.field(t.roles[i])
	if field == nil || t.roles[i] == t.wide {
		return
	}
	if cell == "" {
		t.report(s.Line, "%s: found nothing; expected the %s", t.column(i), t.roles[i])
		return
	}
	if t.roles[i] == side {
		cell = strings.ToLower(cell)
		t.checkSide(s.Line, i, cell)
	}
	*field = cell
}

// checkSide: "r" beside "right" would make two sides of one.
func (t *table) checkSide(line, i int, name string) {
	if slices.Contains(t.sides, name) {
		return
	}
	if t.sides = append(t.sides, name); len(t.sides) > 2 {
		t.report(line, "%s: found %q; expected one of the two names above, %s and %s", t.column(i), name, t.sides[0], t.sides[1])
	}
}

// field is where a label belongs; nil if the role is none of a label.
func (s *Score) field(r role) *string {
	return [...]*string{subject: &s.Subject, side: &s.Side, test: &s.Test, session: &s.Session, rater: &s.Rater, trial: &s.Trial, value: nil, ignore: nil}[r]
}

// add adds a score that was found in a column.
func (t *table) add(s Score, i int, number float64) {
	if field := s.field(t.wide); field != nil {
		*field = t.wideLabel(i)
	}
	key := s
	key.Line = 0
	if before, ok := t.seen[key]; ok {
		t.report(s.Line, "%s: this was measured in line %d already; what tells the two apart belongs into a column session, rater or trial", t.column(i), before)
		return
	}
	t.seen[key] = s.Line
	s.Value = number
	t.scores = append(t.scores, s)
}

func (t *table) report(line int, format string, args ...any) {
	t.problems = append(t.problems, fmt.Errorf("line %d, "+format, append([]any{line}, args...)...))
}

// parseScore reads a strength above 0.
func parseScore(cell string, comma bool) (float64, error) {
	cell = strings.TrimSpace(cell)
	if comma {
		cell = strings.Replace(cell, ",", ".", 1)
	}
	score, err := strconv.ParseFloat(cell, 64)
	if err != nil || !(score > 0 && score < 1e6) {
		return 0, errors.New("expected a strength above 0")
	}
	return score, nil
}
