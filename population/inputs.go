package population

import (
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// input is one file of an export.
type input struct {
	Name     string `json:"name"` // as it stands in lines
	Size     int64  `json:"size"`
	Modified string `json:"modified"`
	path     string
}

// inputsOf finds the files of an export: those that are named, and all of NDJSON in the
// folders that are named, compressed or not. They are in the order of their names.
func inputsOf(names []string) (all []input, err error) {
	for _, name := range names {
		info, err := os.Stat(name)
		if err != nil {
			return nil, err
		}
		if !info.IsDir() {
			all = append(all, newInput(filepath.Base(name), name, info))
			continue
		}
		found, err := inputsIn(name)
		if err != nil {
			return nil, err
		}
		all = append(all, found...)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("no file of NDJSON is there; expected names that end in .ndjson or .ndjson.gz")
	}
	slices.SortFunc(all, func(a, b input) int { return strings.Compare(a.Name, b.Name) })
	for i := 1; i < len(all); i++ {
		if all[i].Name == all[i-1].Name {
			return nil, fmt.Errorf("two files are called %s; give the folder that both are in", all[i].Name)
		}
	}
	return all, nil
}

func inputsIn(folder string) (all []input, err error) {
	err = filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !isNDJSON(path) {
			return err
		}
		info, err := os.Stat(path)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(folder, path)
		all = append(all, newInput(filepath.ToSlash(name), path, info))
		return err
	})
	return all, err
}

func newInput(name, path string, info fs.FileInfo) input {
	return input{Name: fileName(name), Size: info.Size(), Modified: info.ModTime().UTC().Format("2006-01-02T15:04:05.999999999Z"), path: path}
}

const zipped = ".gz"

func isNDJSON(name string) bool {
	return strings.HasSuffix(strings.TrimSuffix(name, zipped), ".ndjson")
}

// open reads a file, uncompressed, and tells how much of it was read on the way.
func (i *input) open(read func(bytes int)) (io.ReadCloser, error) {
	file, err := os.Open(i.path)
	if err != nil {
		return nil, err
	}
	counted := &countedReader{file, read}
	if !strings.HasSuffix(i.path, zipped) {
		return counted, nil
	}
	unzipped, err := gzip.NewReader(counted)
	if err != nil {
		_ = file.Close() // only read
		return nil, fmt.Errorf("%s: %w", i.path, err)
	}
	return struct {
		io.Reader
		io.Closer
	}{unzipped, file}, nil
}

type countedReader struct {
	*os.File
	read func(bytes int)
}

// Read reads and counts.
func (r *countedReader) Read(b []byte) (n int, err error) {
	n, err = r.File.Read(b)
	r.read(n)
	return n, err
}

// leastRatio is how much a compressed file grows at least. Exports repeat their codes, so it
// is usually five to thirty times. Ours.
const leastRatio = 4

// textSize is how many bytes a file has uncompressed, as far as it tells: gzip says it in
// its last four bytes, up to 4 GiB.
//
// Source: RFC 1952, section 2.3.1 (ISIZE).
func (i *input) textSize() int64 {
	if !strings.HasSuffix(i.path, zipped) {
		return i.Size
	}
	size := leastRatio * i.Size
	file, err := os.Open(i.path)
	if err != nil {
		return size // says so when it is read
	}
	defer func() { _ = file.Close() }() // only read
	var last [4]byte
	if _, err := file.ReadAt(last[:], i.Size-int64(len(last))); err != nil {
		return size
	}
	return max(size, int64(binary.LittleEndian.Uint32(last[:])))
}
