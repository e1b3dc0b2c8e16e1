package batch

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"os"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// Request is one request of a batch. With a Problem there is no Body.
type Request struct {
	Body    []byte
	Problem error
	Line    int // that it stands in, from 1; 0 if it is a whole file
}

// Source gives requests one by one, then io.EOF.
type Source interface {
	Next() (Request, error)
}

// maxRequest bounds a request, as the service does.
var maxRequest = fhir.DefaultLimits.Bytes

func tooLong() error {
	return fault.Refuse(fault.TooLong, "", "a request is longer than the limit and was passed over")
}

// Lines reads NDJSON: a request a line. Blank lines, carriage returns, a byte
// order mark and a missing end of the last line are accepted. A line over the limit is a
// Request with a Problem, never cut silently.
func Lines(in io.Reader) Source { return &lines{reader: bufio.NewReaderSize(in, 64<<10)} }

type lines struct {
	reader *bufio.Reader
	number int // of the present line
}

// Next reads the next line that is not blank.
func (l *lines) Next() (Request, error) {
	for {
		line, long, err := l.line()
		if l.number++; l.number == 1 {
			line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
		}
		switch line = bytes.TrimSpace(line); {
		case long:
			return Request{Problem: tooLong(), Line: l.number}, nil
		case len(line) > 0:
			return Request{Body: line, Line: l.number}, nil
		case err != nil:
			return Request{}, err
		}
	}
}

// line reads up to the end of the line. Past the limit it reads on without
// keeping.
func (l *lines) line() (line []byte, long bool, err error) {
	for {
		part, err := l.reader.ReadSlice('\n')
		if long = long || len(line)+len(part) > maxRequest; !long {
			line = append(line, part...)
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		return line, long, err
	}
}

// Files reads files one after the other: of a name that ends in .ndjson each
// line, of any other the whole. Either may be compressed, and then ends in .gz.
func Files(names []string) Source { return &files{names: names} }

type files struct {
	names   []string
	current Source // the lines of an open file
	closer  io.Closer
}

// Next reads the next request, opening and closing files on the way.
func (f *files) Next() (Request, error) {
	for {
		if f.current != nil {
			request, err := f.current.Next()
			if !errors.Is(err, io.EOF) {
				return request, err
			}
			f.current = nil
			if err := f.closer.Close(); err != nil {
				return Request{}, err
			}
		}
		if len(f.names) == 0 {
			return Request{}, io.EOF
		}
		name := f.names[0]
		f.names = f.names[1:]
		if request, whole, err := f.open(name); err != nil || whole {
			return request, err
		}
	}
}

// open reads a whole file, or begins to read the lines of one.
func (f *files) open(name string) (r Request, whole bool, err error) {
	file, err := os.Open(name)
	if err != nil {
		return Request{}, false, err
	}
	var in io.Reader = file
	plain := strings.TrimSuffix(name, ".gz")
	if plain != name {
		if in, err = gzip.NewReader(file); err != nil {
			return Request{}, false, errors.Join(err, file.Close())
		}
	}
	if strings.HasSuffix(plain, ".ndjson") {
		f.current, f.closer = Lines(in), file
		return Request{}, false, nil
	}
	body, err := io.ReadAll(io.LimitReader(in, int64(maxRequest)+1))
	if err = errors.Join(err, file.Close()); err != nil {
		return Request{}, false, err
	}
	if len(body) > maxRequest {
		return Request{Problem: tooLong()}, true, nil
	}
	return Request{Body: body}, true, nil
}

// Bounded is a request of one line, or its problem if it is over the limit.
func Bounded(line []byte) Request {
	if len(line) > maxRequest {
		return Request{Problem: tooLong()}
	}
	return Request{Body: line}
}
