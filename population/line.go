package population

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
)

// Place is where a line of an export stands.
type Place struct {
	File string `json:"file"` // below the folder of the export
	Line int    `json:"line"` // from 1
}

// Line is one line of an export, a resource, with the patient that it is about.
type Line struct {
	Patient string // id of the Patient
	Place
	Text []byte
}

// appendTo writes a line as partitions and pipes hold it: patient, file, number and text,
// with tabs between them.
func (l *Line) appendTo(b []byte) []byte {
	b = append(append(b, l.Patient...), '\t')
	return append(append(l.Place.appendTo(b), l.Text...), '\n')
}

// appendTo writes file and number, each with a tab behind it.
func (p Place) appendTo(b []byte) []byte {
	b = append(append(b, p.File...), '\t')
	return append(strconv.AppendInt(b, int64(p.Line), 10), '\t')
}

// parseLine reads what appendTo wrote. The text shares the bytes.
func parseLine(b []byte) (l Line, err error) {
	patient, rest, ok := bytes.Cut(b, []byte{'\t'})
	if !ok {
		return l, errNoLine
	}
	l.Patient = string(patient)
	if l.Place, l.Text, err = parsePlace(rest); err == nil && (l.Patient == "" || len(l.Text) == 0) {
		err = errNoLine
	}
	return l, err
}

// parsePlace reads file and number from the beginning of a line.
func parsePlace(b []byte) (p Place, rest []byte, err error) {
	file, rest, ok := bytes.Cut(b, []byte{'\t'})
	if !ok {
		return p, nil, errNoLine
	}
	number, rest, ok := bytes.Cut(rest, []byte{'\t'})
	if p.Line, err = strconv.Atoi(string(number)); !ok || err != nil {
		return p, nil, errNoLine
	}
	p.File = string(file)
	return p, rest, nil
}

// errNoLine tells of lines that no program of ours has written.
var errNoLine = fmt.Errorf("expected lines of patient, file, number and resource, with tabs between them")

// fileName is the name of a file as it stands in lines.
func fileName(name string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' {
			return '?'
		}
		return r
	}, name)
}

// Rejection is a line that was not used, with the reason. It quotes nothing of the line.
type Rejection struct {
	Place
	Patient  string `json:"patient,omitempty"` // as in the other outputs; empty if nobody can tell
	Resource string `json:"resource,omitempty"`
	Kind     string `json:"kind"`
	Element  string `json:"element,omitempty"` // FHIRPath within the resource
	Reason   string `json:"reason"`
}

func rejection(at Place, resource string, kind fault.Kind, reason string) Rejection {
	return Rejection{Place: at, Resource: resource, Kind: kind.String(), Reason: reason}
}

// Counts is what became of lines. Each is counted once: Read is the sum of the others.
type Counts struct {
	Read      int            `json:"read"`
	Used      int            `json:"used"`                // measured, stated, or who, when and why
	Elsewhere map[string]int `json:"elsewhere,omitempty"` // about something else, by type of resource
	Rejected  map[string]int `json:"rejected,omitempty"`  // by kind of reason
}

func (c *Counts) use() { c.Read++; c.Used++ }

func (c *Counts) passOver(resource string) {
	c.Read++
	c.Elsewhere = count(c.Elsewhere, resource, 1)
}

func (c *Counts) reject(kind string) {
	c.Read++
	c.Rejected = count(c.Rejected, kind, 1)
}

// Add adds other counts.
func (c *Counts) Add(other Counts) {
	c.Read += other.Read
	c.Used += other.Used
	for resource, n := range other.Elsewhere {
		c.Elsewhere = count(c.Elsewhere, resource, n)
	}
	for kind, n := range other.Rejected {
		c.Rejected = count(c.Rejected, kind, n)
	}
}

func count(of map[string]int, key string, n int) map[string]int {
	if of == nil {
		of = map[string]int{}
	}
	of[key] += n
	return of
}

// total is the sum of counts.
func total(of map[string]int) (n int) {
	for _, k := range of {
		n += k
	}
	return n
}
