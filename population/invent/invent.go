// Package invent writes exports of a record that never was: every patient, visit and
// number is drawn. What is drawn follows curves that are known, so that what is computed
// from it can be held against the truth. With noise it holds all that real exports do to
// a reader besides: other people's measurements, lines cut off, the same line twice.
package invent

import (
	"bufio"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// Options say what is invented. The same options give the same bytes.
type Options struct {
	Patients int
	Seed     uint64
	Files    int // over which the Observations are spread; 4 if zero
	// Giant is the number of heart rates of one patient more, who has besides what
	// others have; none if zero.
	Giant int
	// Clean leaves all noise out.
	Clean bool
	// Plain leaves the files uncompressed; else every second one ends in .gz.
	Plain bool
}

// Counts is what was written.
type Counts struct {
	Lines, Observations int
	Broken              int // lines that are no JSON
}

// Write writes an export into a folder, which it creates.
func Write(folder string, o Options) (counts Counts, err error) {
	if o.Files <= 0 {
		o.Files = 4
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return counts, err
	}
	w := &export{folder: folder, o: o, files: map[string]*file{}}
	defer func() { err = errors.Join(err, w.close()) }()
	w.line("Practitioner", 0, `{"resourceType":"Practitioner","id":"t1","name":[{"family":"Invented"}]}`)
	for i := range o.Patients {
		w.patient(i)
	}
	if o.Giant > 0 {
		w.giant(o.Patients)
	}
	return w.counts, w.err
}

// export is one export in progress. The first error stays.
type export struct {
	folder string
	o      Options
	files  map[string]*file
	counts Counts
	err    error
}

type file struct {
	under  *os.File
	zip    *gzip.Writer
	buffer *bufio.Writer
}

// close completes all files.
func (w *export) close() (err error) {
	for _, f := range w.files {
		err = errors.Join(err, f.buffer.Flush())
		if f.zip != nil {
			err = errors.Join(err, f.zip.Close())
		}
		err = errors.Join(err, f.under.Close())
	}
	return err
}

// to is the file of a type with a number.
func (w *export) to(typeName string, number int) *file {
	name := fmt.Sprintf("%s.%03d.ndjson", typeName, number)
	if f := w.files[name]; f != nil {
		return f
	}
	f := new(file)
	w.files[name] = f
	path := filepath.Join(w.folder, name)
	zipped := !w.o.Plain && number%2 == 1
	if zipped {
		path += ".gz"
	}
	under, err := os.Create(path)
	if err != nil {
		w.err = errors.Join(w.err, err)
		f.buffer = bufio.NewWriter(io.Discard)
		return f
	}
	f.under = under
	var to io.Writer = under
	if zipped {
		f.zip = gzip.NewWriter(under)
		to = f.zip
	}
	f.buffer = bufio.NewWriterSize(to, 64<<10)
	return f
}

// line writes a line.
func (w *export) line(typeName string, number int, text string) {
	b := w.to(typeName, number).buffer
	_, _ = b.WriteString(text) // a failed write shows when the file is closed
	_ = b.WriteByte('\n')
	w.counts.Lines++
}

// observation writes an Observation into one of the files, whole or, with noise,
// sometimes cut off or twice.
func (w *export) observation(rng *rand.Rand, text string) {
	number := rng.IntN(w.o.Files)
	w.counts.Observations++
	noise := rng.IntN(2000)
	if w.o.Clean {
		noise = -1
	}
	switch noise {
	case 0:
		w.counts.Broken++
		w.line("Observation", number, text[:len(text)*2/3])
		return
	case 1, 2:
		w.line("Observation", (number+1)%w.o.Files, text)
		w.counts.Observations++
	}
	w.line("Observation", number, text)
}
