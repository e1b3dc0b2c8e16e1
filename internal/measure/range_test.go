package measure

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Several measurements of one movement in a session: the mean, unless they differ by a real
// change of the protocol, 10 degrees for one examiner and 20 otherwise. Then the least active
// range counts, and the largest passive one.
func TestSeveralRangesOfASession(t *testing.T) {
	tests := []struct {
		name      string
		active    bool
		examiner  shoulder.ExaminerID
		degrees   []string
		want      string
		disagrees bool
	}{
		{"one", true, 0, []string{"60"}, "60", false},
		{"19 degrees apart, nobody knows by whom", true, 0, []string{"170", "151"}, "160.5", false},
		{"20 degrees apart, nobody knows by whom", true, 0, []string{"170", "150"}, "150", true},
		{"9 degrees apart, by one examiner", true, 7, []string{"170", "161"}, "165.5", false},
		{"10 degrees apart, by one examiner", true, 7, []string{"160", "170"}, "160", true},
		{"an arm that lifts and does not", true, 0, []string{"176", "60"}, "60", true},
		{"three, the slip in the middle", true, 0, []string{"170", "70", "172"}, "70", true},
		{"passively", false, 0, []string{"60", "176"}, "176", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := shoulder.Session{}
			for i, d := range tt.degrees {
				s.Ranges = append(s.Ranges, shoulder.Range{Source: shoulder.SourceID(i), Movement: shoulder.Flexion, Side: shoulder.Right, Active: tt.active, Examiner: tt.examiner, Degrees: exact.MustParse(d)})
			}
			got := Ranges(&shoulder.Episode{Involved: shoulder.Right, Sessions: []shoulder.Session{s}}, protocol.Default())
			if len(got) != 1 || got[0].Degrees.Cmp(exact.MustParse(tt.want)) != 0 || got[0].Disagrees() != tt.disagrees || len(got[0].Sources) != len(tt.degrees) {
				t.Errorf("%+v, want %s degrees of all inputs, disagreeing: %v", got, tt.want, tt.disagrees)
			}
		})
	}
}
