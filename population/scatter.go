package population

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
	"path/filepath"
	"sync"

	"evenreach.example/internal/batch"
	"evenreach.example/internal/fault"
	"golang.org/x/sync/errgroup"
)

// partitionOf is the partition of a patient among a number of them.
func partitionOf(patient string, partitions int) int {
	return int(digestOf(patient) % uint32(partitions))
}

// passOf is the pass of a patient among the passes over one partition, which tells apart
// patients that partitionOf puts together.
func passOf(patient string, partitions, passes int) int {
	return int(digestOf(patient) / uint32(partitions) % uint32(passes))
}

// digestOf spreads ids that differ in their last digits alone, too.
//
// Source: FNV-1a, draft-eastlake-fnv; the mixing of its bits is that of MurmurHash3
// (Appleby 2011, public domain).
func digestOf(patient string) uint32 {
	h := fnv.New32a()
	_, _ = io.WriteString(h, patient) // never fails
	x := h.Sum32()
	x ^= x >> 16
	x *= 0x85ebca6b
	x ^= x >> 13
	x *= 0xc2b2ae35
	return x ^ x>>16
}

// spill is a partition on disk that is being filled.
type spill struct {
	sync.Mutex
	file   *os.File
	buffer *bufio.Writer
}

func (s *spill) write(line []byte) error {
	s.Lock()
	defer s.Unlock()
	_, err := s.buffer.Write(line)
	return err
}

// scatterer spreads the lines of an export over partitions, some files at a time.
type scatterer struct {
	folder string // of the partitions
	spills []*spill
	out    *folder
	read   func(bytes int)
}

// scatter writes the lines of all files into partitions below a folder. What is about no
// patient is counted, and what cannot be used is listed, file by file.
func scatter(ctx context.Context, inputs []input, partitions int, to string, out *folder, o Options) (err error) {
	s := &scatterer{folder: to, out: out, read: o.stage("reading", sizeOf(inputs))}
	defer func() { err = errors.Join(err, s.close()) }()
	for i := range partitions {
		file, err := os.Create(filepath.Join(to, spillName(i)))
		if err != nil {
			return err
		}
		s.spills = append(s.spills, &spill{file: file, buffer: bufio.NewWriterSize(file, 64<<10)})
	}
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(o.workers())
	for i := range inputs {
		group.Go(func() error { return s.scatterFile(ctx, i, &inputs[i]) })
	}
	return group.Wait()
}

func spillName(partition int) string { return fmt.Sprintf("part-%04d.lines", partition) }

func sizeOf(inputs []input) (bytes int64) {
	for i := range inputs {
		bytes += inputs[i].Size
	}
	return bytes
}

func (s *scatterer) close() (err error) {
	for _, spill := range s.spills {
		err = errors.Join(err, spill.buffer.Flush(), spill.file.Close())
	}
	return err
}

// scatterFile spreads the lines of one file.
func (s *scatterer) scatterFile(ctx context.Context, number int, in *input) (err error) {
	reader, err := in.open(s.read)
	if err != nil {
		return err
	}
	defer func() { _ = reader.Close() }() // only read
	out := s.out.part(fmt.Sprintf("file-%04d", number))
	defer out.abandon()
	at, lines, counts, scratch := Place{File: in.Name}, batch.Lines(reader), Counts{}, []byte(nil)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		request, err := lines.Next()
		switch {
		case errors.Is(err, io.EOF):
			return out.complete(counts)
		case err != nil:
			return fmt.Errorf("%s: after line %d: %w", in.path, at.Line, err)
		}
		at.Line = request.Line
		if scratch, err = s.line(at, request, &counts, out, scratch[:0]); err != nil {
			return err
		}
	}
}

// line puts one line where it belongs.
func (s *scatterer) line(at Place, request batch.Request, counts *Counts, out *part, scratch []byte) ([]byte, error) {
	sifted := siftRequest(at, request)
	if sifted.Patient != "" {
		line := Line{sifted.Patient, at, sifted.Text}
		scratch = line.appendTo(scratch)
		return scratch, s.spills[partitionOf(sifted.Patient, len(s.spills))].write(scratch)
	}
	return scratch, sifted.tell(counts, out.reject)
}

// siftRequest sifts a line that may be too long to be held.
func siftRequest(at Place, request batch.Request) Sifted {
	if request.Problem != nil {
		return rejected(at, "", fault.TooLong, "a line longer than the limit of one resource")
	}
	return Sift(at, request.Body)
}

// tell counts a line that is about no patient, and lists it if it was rejected.
func (s *Sifted) tell(counts *Counts, list func(Rejection) error) error {
	if s.Rejected == nil {
		counts.passOver(s.Elsewhere)
		return nil
	}
	counts.reject(s.Rejected.Kind)
	return list(*s.Rejected)
}
