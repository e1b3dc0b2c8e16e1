package population

import (
	"bufio"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/parquet-go/parquet-go"
)

// The folders of an output.
const (
	PatientsFolder = "patients"
	RowsFolder     = "rows"
	RejectedFolder = "rejected"
	ResultsFolder  = "results"
	CountsFolder   = "counts"
	SummaryFolder  = "summary"
	workFolder     = "work"
)

// partial is the end of the name of a file that is not complete.
const partial = ".partial"

// folder is the output.
type folder struct{ path string }

// part is what one partition, or one file of the input, adds to the output: a file in each
// of the folders. The files have their names only once all of them are complete, and the one
// with the counts gets its name last, so that it marks the part as done.
type part struct {
	folder *folder
	name   string
	files  map[string]*outFile // by the folder they are in
	rows   *parquet.GenericWriter[Row]
}

type outFile struct {
	path   string
	file   *os.File
	buffer *bufio.Writer
}

func (f *folder) part(name string) *part {
	return &part{folder: f, name: name, files: map[string]*outFile{}}
}

// done reports whether a part was completed.
func (f *folder) done(name string) bool {
	_, err := os.Stat(filepath.Join(f.path, CountsFolder, name+".ndjson"))
	return err == nil
}

// in is the file of the part in a folder.
func (p *part) in(folder, ending string) (*outFile, error) {
	if f := p.files[folder]; f != nil {
		return f, nil
	}
	path := filepath.Join(p.folder.path, folder, p.name+ending)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, err
	}
	file, err := os.Create(path + partial)
	if err != nil {
		return nil, err
	}
	f := &outFile{path, file, bufio.NewWriterSize(file, 64<<10)}
	p.files[folder] = f
	return f, nil
}

// line writes a line into the file of a folder.
func (p *part) line(folder string, text []byte) error {
	f, err := p.in(folder, ".ndjson")
	if err != nil {
		return err
	}
	_, _ = f.buffer.Write(text) // a failed write shows at the next one
	return f.buffer.WriteByte('\n')
}

func (p *part) json(folder string, value any) error {
	text, err := json.Marshal(value)
	if err != nil {
		return err
	}
	return p.line(folder, text)
}

func (p *part) reject(r Rejection) error { return p.json(RejectedFolder, r) }

// writeRows adds rows to the table of the part.
func (p *part) writeRows(rows []Row) error {
	if len(rows) == 0 {
		return nil
	}
	if p.rows == nil {
		f, err := p.in(RowsFolder, ".parquet")
		if err != nil {
			return err
		}
		p.rows = parquet.NewGenericWriter[Row](f.buffer, parquet.Compression(&parquet.Snappy))
	}
	_, err := p.rows.Write(rows)
	return err
}

// write adds what is said about one patient.
func (p *part) write(o *written) error {
	errs := []error{p.line(PatientsFolder, o.patient), p.writeRows(o.rows)}
	for _, line := range o.rejected {
		errs = append(errs, p.line(RejectedFolder, line))
	}
	for _, r := range o.results {
		errs = append(errs, p.line(filepath.Join(ResultsFolder, r.Type), r.JSON))
	}
	return errors.Join(errs...)
}

// complete gives the files their names, the counts last.
func (p *part) complete(counts Counts) error {
	if err := p.json(CountsFolder, counts); err != nil {
		return err
	}
	if p.rows != nil {
		if err := p.rows.Close(); err != nil {
			return err
		}
	}
	for _, f := range p.files {
		if err := errors.Join(f.buffer.Flush(), f.file.Sync()); err != nil {
			return err
		}
	}
	marker := p.files[CountsFolder]
	delete(p.files, CountsFolder)
	for _, f := range p.files {
		if err := f.finish(); err != nil {
			return err
		}
	}
	p.files = nil
	return marker.finish()
}

func (f *outFile) finish() error {
	return errors.Join(f.file.Close(), os.Rename(f.path+partial, f.path))
}

// abandon leaves what was not completed. A later run begins the part anew.
func (p *part) abandon() {
	for _, f := range p.files {
		_ = f.file.Close() // what it holds is of no use
	}
}

// lines calls each with every line of a folder, file by file in the order of their names.
func (f *folder) lines(name string, each func(text []byte) error) error {
	files, err := filepath.Glob(filepath.Join(f.path, name, "*"))
	if err != nil {
		return err
	}
	slices.Sort(files)
	for _, file := range files {
		if isNoOutput(filepath.Base(file)) {
			continue
		}
		if err := linesOf(file, each); err != nil {
			return err
		}
	}
	return nil
}

// isNoOutput reports whether a file is not complete, or one that a cluster writes for itself,
// such as _SUCCESS or a checksum.
func isNoOutput(name string) bool {
	return filepath.Ext(name) == partial || strings.HasPrefix(name, "_") || strings.HasPrefix(name, ".")
}

func linesOf(name string, each func(text []byte) error) error {
	file, err := os.Open(name)
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }() // only read
	in, long := bufio.NewReaderSize(file, 1<<20), []byte(nil)
	for {
		text, err := readLine(in, &long)
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		case len(text) == 0:
			continue
		}
		if err := each(text); err != nil {
			return err
		}
	}
}

// replace writes a file whole, or not at all.
func (f *folder) replace(name string, content []byte) error {
	path := filepath.Join(f.path, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(path+partial, content, 0o644); err != nil {
		return err
	}
	return os.Rename(path+partial, path)
}
