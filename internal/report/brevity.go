package report

import (
	"bytes"
	"slices"

	"evenreach.example/internal/wording"
)

// A reader has time for so many lines, whatever was measured. A form that has more leaves
// out what matters least, in steps, and says how much the full report has beyond it. What
// warns, forbids or limits a load is never left out. The step is the same in every
// language, that of the longest, so that all hold the same numbers.

// shortened is the first step at which a form fits, or the last one.
func shortened[Step ~uint8](last Step, fits func(Step) bool) Step {
	for step := Step(0); step < last; step++ {
		if fits(step) {
			return step
		}
	}
	return last
}

// fitsEverywhere reports whether what is written in each language has at most so many lines.
// Its own language is written by the catalogue itself. English, the first, is the shortest.
func fitsEverywhere(w *wording.Catalogue, most int, write func(*textWriter, *wording.Catalogue)) bool {
	var t textWriter
	for _, language := range slices.Backward(wording.Languages()) {
		in := w
		if language != w.Language() {
			in = w.In(language)
		}
		t.out = t.out[:0]
		write(&t, in)
		if bytes.Count(t.out, []byte{'\n'}) > most {
			return false
		}
	}
	return true
}
