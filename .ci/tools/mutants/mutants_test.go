package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"
)

// Each fault of a small package, with what becomes of it by hand: a test notices it, or cannot.
func TestFaultsOfAPackage(t *testing.T) {
	const source = `package small

func Larger(a, b int) int {
	if a > b {
		return a
	}
	return b
}

func Evens(all []int) (n int) {
	for _, x := range all {
		if x < 0 || x%2 != 0 {
			continue
		}
		n++
	}
	return n
}

func Never(a int) int { return -a }

const constant = 1 + 1
`
	const tests = `package small

import "testing"

func TestLarger(t *testing.T) {
	if Larger(1, 2) != 2 || Larger(2, 1) != 2 {
		t.Error()
	}
}

func TestEvens(t *testing.T) {
	if Evens([]int{-2, 3, 2, 4}) != 2 || Evens(nil) != 0 {
		t.Error()
	}
}
`
	folder := t.TempDir()
	for name, text := range map[string]string{"go.mod": "module small.example\n\ngo 1.26\n", "small.go": source, "small_test.go": tests} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(folder)
	p, err := load(t.Context(), ".", regexp.MustCompile(""))
	if err != nil {
		t.Fatal(err)
	}
	scratch := t.TempDir()
	built, err := p.build(t.Context(), scratch, ".")
	if err != nil {
		t.Fatal(err)
	}
	if err := built.learn(t.Context(), scratch); err != nil {
		t.Fatal(err)
	}
	var got []string
	for i, o := range try(t.Context(), 2, len(p.faults), []*program{built}) {
		got = append(got, fmt.Sprint(p.faults[i].pos.Line, " ", p.faults[i].kind, " ", o))
	}
	want := []string{
		fmt.Sprint("4 comparison ", noticed),
		fmt.Sprint("4 bound ", lived), // of equal numbers either is the larger
		fmt.Sprint("12 and-or ", noticed),
		fmt.Sprint("12 comparison ", noticed),
		fmt.Sprint("12 bound ", lived), // no test has a zero
		fmt.Sprint("12 comparison ", noticed),
		fmt.Sprint("12 arithmetic ", noticed), // x*2 is 0 for zero alone
		fmt.Sprint("13 loop ", noticed),
		fmt.Sprint("15 step ", noticed),
		fmt.Sprint("20 sign ", unreached),
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n%q\nwant\n%q", got, want)
	}
}

// Each third fault of a file, counted in each file anew.
func TestSampleIsEvenOverEachFile(t *testing.T) {
	p := &pkg{}
	for i, file := range []string{"a", "a", "a", "b", "b", "a", "b", "a", "a"} {
		f := fault{file: file}
		f.pos.Line = i + 1
		p.faults = append(p.faults, f)
	}
	p.sample(3)
	var lines []int
	for _, f := range p.faults {
		lines = append(lines, f.pos.Line)
	}
	if want := []int{3, 7, 9}; !slices.Equal(lines, want) {
		t.Errorf("lines %v, want %v", lines, want)
	}
}

// A round has the next tests that together take at most four times as long as the round before might, and at least one.
func TestRoundsGrow(t *testing.T) {
	var tests []test
	for _, seconds := range []float64{0.25, 0.25, 0.5, 1, 2.5, 17, 18} {
		tests = append(tests, test{takes: time.Duration(seconds * float64(time.Second))})
	}
	var sizes []int
	for _, round := range rounds(tests) {
		sizes = append(sizes, len(round))
	}
	if want := []int{3, 2, 1, 1}; !slices.Equal(sizes, want) {
		t.Errorf("rounds of %v tests, want %v", sizes, want)
	}
}
