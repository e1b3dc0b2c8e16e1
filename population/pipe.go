package population

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"

	"evenreach.example/internal/batch"
)

// LinesFolder is what PipeSift calls the lines that are to be grouped by patient.
const LinesFolder = "lines"

// PipeSift reads lines of file, number and text, with tabs between them, and writes each
// with the folder that it belongs into before it: lines for one with its patient; rejected
// for why it is not used; and at the end counts. A cluster groups the lines by patient and
// gives them to PipeAssess.
func PipeSift(ctx context.Context, in io.Reader, out io.Writer) error {
	p := newPipe(out)
	reader, long, counts, scratch := bufio.NewReaderSize(in, 1<<20), []byte(nil), Counts{}, []byte(nil)
	for ctx.Err() == nil {
		text, err := readLine(reader, &long)
		if errors.Is(err, io.EOF) {
			return errors.Join(p.json(CountsFolder, counts), p.out.Flush())
		}
		if err != nil {
			return err
		}
		at, text, err := parsePlace(text)
		if err != nil {
			return err
		}
		if text = bytes.TrimSpace(text); len(text) == 0 {
			continue
		}
		sifted := siftRequest(at, batch.Bounded(text))
		if sifted.Patient == "" {
			if err := sifted.tell(&counts, func(r Rejection) error { return p.json(RejectedFolder, r) }); err != nil {
				return err
			}
			continue
		}
		line := Line{sifted.Patient, at, sifted.Text}
		scratch = line.appendTo(append(scratch[:0], LinesFolder+"\t"...))
		if _, err := p.out.Write(scratch); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// PipeAssess reads lines of patient, file, number and text, with those of one patient
// together, and writes what is said about each, with the folder that it belongs into
// before it and a tab between them. It holds a few patients at a time. A patient who
// cannot be assessed is told of and ends nothing.
func PipeAssess(ctx context.Context, in io.Reader, out io.Writer, a *Assessor, workers int) error {
	p := newPipe(out)
	g := &grouper{in: bufio.NewReaderSize(in, 1<<20)}
	line := batch.Line[*Group, *written]{
		Next: g.next,
		Work: a.write,
		Take: p.write,
		Wait: func() { _ = p.out.Flush() }, // a failed write shows at the next step
	}
	return errors.Join(line.Run(ctx, workers), p.out.Flush())
}

// pipe writes lines that begin with the folder that they belong into.
type pipe struct{ out *bufio.Writer }

func newPipe(out io.Writer) *pipe { return &pipe{bufio.NewWriterSize(out, 64<<10)} }

func (p *pipe) line(folder string, text []byte) error {
	_, _ = p.out.WriteString(folder) // a failed write shows at the last one
	_ = p.out.WriteByte('\t')
	_, _ = p.out.Write(text)
	return p.out.WriteByte('\n')
}

func (p *pipe) json(folder string, value any) error {
	text, err := json.Marshal(value)
	if err != nil {
		return err
	}
	return p.line(folder, text)
}

func (p *pipe) write(w *written) error {
	if w.err != nil {
		return w.err
	}
	errs := []error{p.line(PatientsFolder, w.patient)}
	for i := range w.rows {
		errs = append(errs, p.json(RowsFolder, &w.rows[i]))
	}
	for _, line := range w.rejected {
		errs = append(errs, p.line(RejectedFolder, line))
	}
	for _, r := range w.results {
		errs = append(errs, p.line(ResultsFolder+"/"+r.Type, r.JSON))
	}
	return errors.Join(errs...)
}

// grouper puts lines that come one after the other together by patient.
type grouper struct {
	in    *bufio.Reader
	long  []byte
	ahead *Line // the first of the next patient
	ended bool
}

// next is the next patient.
func (g *grouper) next() (*Group, error) {
	keep := gatherer{byPatient: map[string]*gathered{}, names: map[string]string{}}
	first := ""
	for !g.ended {
		line, err := g.line()
		if errors.Is(err, io.EOF) {
			g.ended = true
			break
		}
		if err != nil {
			return nil, err
		}
		if first != "" && line.Patient != first {
			g.ahead = line
			break
		}
		first = line.Patient
		keep.add(*line)
	}
	if first == "" {
		return nil, io.EOF
	}
	return &keep.groups()[0], nil
}

func (g *grouper) line() (*Line, error) {
	if line := g.ahead; line != nil {
		g.ahead = nil
		return line, nil
	}
	text, err := readLine(g.in, &g.long)
	if err != nil {
		return nil, err
	}
	line, err := parseLine(text)
	return &line, err
}
