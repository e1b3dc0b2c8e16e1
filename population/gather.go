package population

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
)

// Group is the lines of one patient.
type Group struct {
	Lines []Line
	// Dropped are the places of those that were not held, because the patient has more
	// than fits; then none of them is used.
	Dropped []Line
}

// gather reads the patients of one pass over a partition, in the order of their ids.
func gather(file string, partitions, pass, passes int) ([]Group, error) {
	in, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer func() { _ = in.Close() }() // only read
	g := gatherer{byPatient: map[string]*gathered{}, names: map[string]string{}}
	reader := bufio.NewReaderSize(in, 1<<20)
	for {
		text, err := readLine(reader, &g.long)
		if errors.Is(err, io.EOF) && len(text) == 0 {
			return g.groups(), nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		line, err := parseLine(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		if passes == 1 || passOf(line.Patient, partitions, passes) == pass {
			g.add(line)
		}
	}
}

// readLine reads a line of any length, without its end. It may be overwritten by the next.
func readLine(in *bufio.Reader, long *[]byte) ([]byte, error) {
	*long = (*long)[:0]
	for {
		text, err := in.ReadSlice('\n')
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			*long = append(*long, text...)
			continue
		case err != nil:
			if errors.Is(err, io.EOF) && len(*long)+len(text) > 0 {
				err = io.ErrUnexpectedEOF
			}
			return nil, err
		case len(*long) == 0:
			return text[:len(text)-1], nil
		}
		*long = append(*long, text[:len(text)-1]...)
		return *long, nil
	}
}

// gathered is a patient whose lines are coming in.
type gathered struct {
	Group
	id   string
	size int // bytes of the lines that are held
}

type gatherer struct {
	byPatient map[string]*gathered
	names     map[string]string // of files, each once
	slab      []byte            // where texts are put
	long      []byte
}

// add keeps a copy of a line.
func (g *gatherer) add(line Line) {
	name, known := g.names[line.File]
	if !known {
		name = line.File
		g.names[name] = name
	}
	patient := g.byPatient[line.Patient]
	if patient == nil {
		patient = &gathered{id: line.Patient}
		g.byPatient[patient.id] = patient
	}
	line.Patient, line.File, line.Text = patient.id, name, g.copy(line.Text, patient.size)
	patient.add(line)
}

// add adds a line to those of the patient.
func (p *gathered) add(line Line) {
	if p.size += len(line.Text); line.Text != nil && p.size <= mostText && len(p.Lines) < limits.Entries {
		p.Lines = append(p.Lines, line)
		return
	}
	for _, l := range p.Lines {
		p.Dropped = append(p.Dropped, Line{Patient: p.id, Place: l.Place})
	}
	p.Dropped = append(p.Dropped, Line{Patient: p.id, Place: line.Place})
	p.Lines, p.size = nil, mostText
}

// slabSize is how many bytes of text are allocated at a time.
const slabSize = 1 << 20

// copy copies a text into a slab; nil for a patient who has more than fits.
func (g *gatherer) copy(text []byte, held int) []byte {
	if held+len(text) > mostText {
		return nil
	}
	if len(g.slab)+len(text) > cap(g.slab) {
		g.slab = make([]byte, 0, max(slabSize, len(text)))
	}
	start := len(g.slab)
	g.slab = append(g.slab, text...)
	return g.slab[start:len(g.slab):len(g.slab)]
}

func (g *gatherer) groups() []Group {
	all := make([]*gathered, 0, len(g.byPatient))
	for _, patient := range g.byPatient {
		all = append(all, patient)
	}
	slices.SortFunc(all, func(a, b *gathered) int { return cmp.Compare(a.id, b.id) })
	groups := make([]Group, len(all))
	for i, patient := range all {
		groups[i] = patient.Group
	}
	return groups
}
