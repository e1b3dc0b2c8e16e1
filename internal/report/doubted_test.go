package report

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
	"evenreach.example/internal/wording"
)

// A value in doubt is marked in the note, and is the first of nothing.
func TestTheNoteMarksWhatIsInDoubt(t *testing.T) {
	first := shouldertest.Visit{ER: [3]string{"80 80 80"}, Pain: "1", Flexion: "160", Abduction: "160"}
	doubted := first
	doubted.Day, doubted.ER = 14, [3]string{"80 82 160"}
	a := assess.Assess(shouldertest.Episode(first, doubted), protocol.Default(), shouldertest.Day(14))
	for _, language := range wording.Languages() {
		w := wording.For(language)
		rows := composer{a, w}.progressAt(shoulder.External, &a.Readiness.Motions[0].Positions[0])
		if len(rows) != 2 {
			t.Fatalf("%s: %d rows, want strength and index", language, len(rows))
		}
		for _, r := range rows {
			if r.cells[6] != w.InDoubt() || slices.Contains(r.cells, w.FirstMeasured()) {
				t.Errorf("%s: %q, want it marked as in doubt and not as the first", language, r.cells)
			}
		}
	}
}

// After the examination the patient's page says what was found, and that it was examined.
func TestThePatientReadsOfAnExaminedLoss(t *testing.T) {
	before := shouldertest.Visit{ER: shouldertest.All("90"), IR: shouldertest.All("90"), Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "2"}
	after := before
	after.Day, after.ER = 14, shouldertest.All("45")
	e := shouldertest.Episode(before, after)
	e.Examinations = []shoulder.Statement{{When: shouldertest.Day(15), Cleared: true}}
	a := assess.Assess(e, protocol.Default(), shouldertest.Day(15))
	if a.Readiness.Examine() || len(a.Readiness.Flags) == 0 {
		t.Fatalf("flags %v, want an examined one", a.Readiness.Flags)
	}
	page := bare(Patient(a, wording.For("en")))
	for _, want := range []string{"Your arm has become much weaker", "Your shoulder was looked at"} {
		if !strings.Contains(page, bare(want)) {
			t.Errorf("no %q on the page:\n%s", want, page)
		}
	}
}
