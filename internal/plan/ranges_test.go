package plan

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// A range that was measured twice on a day, 176 and 100 degrees, is asked for once, and first.
func TestADisagreeingRangeIsAskedForFirst(t *testing.T) {
	e := shouldertest.Episode(shouldertest.Visit{ER: shouldertest.All("90"), IR: shouldertest.All("90"), Flexion: "176", Abduction: "170", Pain: "1"})
	e.Sessions[0].Ranges = append(e.Sessions[0].Ranges, shoulder.Range{
		Source: shouldertest.Next(), Movement: shoulder.Flexion, Side: shoulder.Right, Active: true, Degrees: exact.MustParse("100"),
	})
	var asked []Request
	for _, r := range planned(e).Requests {
		if r.Ask == AskRange {
			asked = append(asked, r)
		}
	}
	if len(asked) != 1 || asked[0].Why != WhyRangesDisagree || asked[0].Movement != shoulder.Flexion || !asked[0].First {
		t.Errorf("asked %+v, want active flexion alone, first", asked)
	}
}
