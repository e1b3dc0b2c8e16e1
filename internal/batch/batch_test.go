package batch

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"go.uber.org/goleak"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// echo answers with a Patient whose id is the request, and refuses "bad".
func echo(_ context.Context, body []byte) (fhir.Resource, error) {
	if string(body) == "bad" {
		return nil, fault.Refuse(fault.Syntax, "", "not JSON")
	}
	return &fhir.Patient{Common: fhir.Common{ID: string(body)}}, nil
}

func numbered(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "r%d\n", i)
	}
	return b.String()
}

func TestAnswersKeepTheOrder(t *testing.T) {
	var out bytes.Buffer
	const n = 1000
	summary, err := Run(context.Background(), Lines(strings.NewReader(numbered(n))), &out, echo, Options{Workers: 7})
	if err != nil || summary != (Summary{Answered: n}) {
		t.Fatalf("Run = %+v, %v", summary, err)
	}
	for i, line := range strings.Split(strings.TrimSpace(out.String()), "\n") {
		if want := fmt.Sprintf(`{"resourceType":"Patient","id":"r%d"}`, i); line != want {
			t.Fatalf("line %d = %s, want %s", i, line, want)
		}
	}
}

// An answer comes while its asker still holds the line open, before the next
// request.
func TestAnswerComesBeforeTheNextRequest(t *testing.T) {
	askedFrom, ask := io.Pipe()
	answers, answerTo := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		_, err := Run(context.Background(), Lines(askedFrom), answerTo, echo, Options{Workers: 2})
		ended <- errors.Join(err, answerTo.Close())
	}()
	lines := bufio.NewScanner(answers)
	for i := range 5 {
		if _, err := fmt.Fprintf(ask, "r%d\n", i); err != nil {
			t.Fatal(err)
		}
		if !lines.Scan() || lines.Text() != fmt.Sprintf(`{"resourceType":"Patient","id":"r%d"}`, i) {
			t.Fatalf("answer %d = %s", i, lines.Text())
		}
	}
	if err := errors.Join(ask.Close(), <-ended); err != nil {
		t.Fatal(err)
	}
}

// A panic must not take the answers of other patients with it.
func TestPanicTakesOnlyItsAnswer(t *testing.T) {
	var out bytes.Buffer
	answerer := func(ctx context.Context, body []byte) (fhir.Resource, error) {
		if string(body) == "panic" {
			panic("invented secret")
		}
		return echo(ctx, body)
	}
	summary, err := Run(context.Background(), Lines(strings.NewReader("a\npanic\nb")), &out, answerer, Options{})
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if err != nil || summary != (Summary{2, 1}) || len(lines) != 3 || !strings.Contains(lines[1], `"exception"`) {
		t.Errorf("Run = %+v, %v:\n%s", summary, err, out.String())
	}
	if strings.Contains(out.String(), "secret") {
		t.Errorf("the answer tells what the panic said: %s", lines[1])
	}
}

func TestRefusalStandsInItsPlace(t *testing.T) {
	var out bytes.Buffer
	summary, err := Run(context.Background(), Lines(strings.NewReader("a\nbad\nb")), &out, echo, Options{})
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if err != nil || summary != (Summary{2, 1}) || len(lines) != 3 || !strings.Contains(lines[1], "OperationOutcome") {
		t.Errorf("Run = %+v, %v:\n%s", summary, err, out.String())
	}
}

func TestNoMoreThanAFewAreHeld(t *testing.T) {
	var held, most atomic.Int64
	source := sourceFunc(func(i int) (Request, error) {
		if i == 500 {
			return Request{}, io.EOF
		}
		if now := held.Add(1); now > most.Load() {
			most.Store(now)
		}
		return Request{Body: []byte("x")}, nil
	})
	answerer := func(ctx context.Context, body []byte) (fhir.Resource, error) {
		defer held.Add(-1)
		return echo(ctx, body)
	}
	const workers = 4
	if _, err := Run(context.Background(), source, io.Discard, answerer, Options{Workers: workers}); err != nil {
		t.Fatal(err)
	}
	// Read ahead, in work, and one in the reader's hand.
	if limit := int64(3*workers + 2); most.Load() > limit {
		t.Errorf("%d requests were held at a time, want at most %d", most.Load(), limit)
	}
}

// sourceFunc makes a Source of a function of the number of the call.
func sourceFunc(next func(i int) (Request, error)) Source { return &counted{next: next} }

type counted struct {
	n    int
	next func(int) (Request, error)
}

func (c *counted) Next() (Request, error) {
	defer func() { c.n++ }()
	return c.next(c.n)
}

func TestErrorsEndTheBatch(t *testing.T) {
	broken := errors.New("broken")
	endless := sourceFunc(func(int) (Request, error) { return Request{Body: []byte("x")}, nil })
	tests := []struct {
		name     string
		source   Source
		out      io.Writer
		answerer Answerer
	}{
		{"reading", sourceFunc(func(i int) (Request, error) { return Request{Body: []byte("x")}, map[bool]error{true: broken}[i == 3] }), io.Discard, echo},
		{"writing", endless, failingWriter{broken}, echo},
		{"answering", endless, io.Discard, func(context.Context, []byte) (fhir.Resource, error) { return nil, broken }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := Run(context.Background(), tt.source, tt.out, tt.answerer, Options{Workers: 3}); !errors.Is(err, broken) {
				t.Errorf("err = %v, want %v", err, broken)
			}
		})
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Run(ctx, endless, io.Discard, echo, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("err = %v, want the context's", err)
	}
}

type failingWriter struct{ err error }

func (w failingWriter) Write([]byte) (int, error) { return 0, w.err }

func readAll(t *testing.T, s Source) (bodies []string, problems int) {
	t.Helper()
	for {
		r, err := s.Next()
		if errors.Is(err, io.EOF) {
			return bodies, problems
		}
		if err != nil {
			t.Fatal(err)
		}
		if r.Problem != nil {
			problems++
			continue
		}
		bodies = append(bodies, string(r.Body))
	}
}

func TestLines(t *testing.T) {
	long := strings.Repeat("x", maxRequest+1)
	tests := []struct {
		name, text string
		want       []string
		problems   int
	}{
		{"nothing", "", nil, 0},
		{"last line without an end", "a\nb", []string{"a", "b"}, 0},
		{"blank lines and carriage returns", "\r\na\r\n\n  \nb\r\n", []string{"a", "b"}, 0},
		{"byte order mark", "\xef\xbb\xbfa\n", []string{"a"}, 0},
		{"a line over the limit is told, not cut", "a\n" + long + "\nb\n", []string{"a", "b"}, 1},
		{"the longest line", strings.Repeat("y", maxRequest-1) + "\n", []string{strings.Repeat("y", maxRequest-1)}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, problems := readAll(t, Lines(strings.NewReader(tt.text)))
			if !slices.Equal(got, tt.want) || problems != tt.problems {
				t.Errorf("%d requests, %d problems, want %d and %d", len(got), problems, len(tt.want), tt.problems)
			}
		})
	}
}

func TestFiles(t *testing.T) {
	folder := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(folder, name)
		body := []byte(text)
		if strings.HasSuffix(name, ".gz") {
			var b bytes.Buffer
			z := gzip.NewWriter(&b)
			if _, err := z.Write(body); err != nil {
				t.Fatal(err)
			}
			if err := z.Close(); err != nil {
				t.Fatal(err)
			}
			body = b.Bytes()
		}
		if err := os.WriteFile(path, body, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	names := []string{write("one.json", "a\nb"), write("two.ndjson", "c\nd\n"), write("three.ndjson.gz", "e\n"), write("four.json.gz", "f")}
	got, _ := readAll(t, Files(names))
	if want := []string{"a\nb", "c", "d", "e", "f"}; !slices.Equal(got, want) {
		t.Errorf("requests = %q, want %q", got, want)
	}
	for _, bad := range []string{filepath.Join(folder, "absent.json"), write("no.gz", "")} {
		if bad == filepath.Join(folder, "no.gz") {
			if err := os.WriteFile(bad, []byte("not compressed"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := Files([]string{bad}).Next(); err == nil || errors.Is(err, io.EOF) {
			t.Errorf("%s: err = %v, want one", filepath.Base(bad), err)
		}
	}
}
