package redflag

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

const (
	rest  = shoulder.PainAtRest
	test  = shoulder.PainDuringResistedTest
	worst = shoulder.PainWorst24h
)

func TestPain(t *testing.T) {
	const surge, high, none = "pain-surge", "high-rest-pain", ""
	elsewhere := func(s *shoulder.Session) {
		s.Pains = append(s.Pains, shoulder.Pain{Context: rest, Side: left, Score: s.Pains[0].Score})
		s.Pains = s.Pains[1:]
	}
	tests := []struct {
		name   string
		of     *shoulder.Episode
		want   string
		source string
	}{
		{"in the test 2 to 6", episode(visit(0, pain(test, "2")), visit(14, pain(test, "6"))), surge, "by hand: 4 >= 3, and 6 > 5"},
		{"worst 2 to 6", episode(visit(0, pain(worst, "2")), visit(14, pain(worst, "6"))), surge, "by hand: 4 >= 3, and 6 > 5"},
		{"rise of 3 to over the limit", episode(visit(0, pain(test, "3")), visit(14, pain(test, "6"))), surge, "protocol: at least 3"},
		{"rise of 3 to the limit", episode(visit(0, pain(test, "2")), visit(14, pain(test, "5"))), none, "protocol: over 5"},
		{"rise of 2 to over the limit", episode(visit(0, pain(test, "4")), visit(14, pain(test, "6"))), none, "protocol: at least 3"},
		{"much for long", episode(visit(0, pain(test, "6")), visit(14, pain(test, "6"))), none, "by definition: no rise"},
		{"in two steps", episode(visit(0, pain(test, "2")), visit(14, pain(test, "5")), visit(28, pain(test, "6"))), surge, "by hand: 6 - 2 = 4 >= 3"},
		{"surged and still there", episode(visit(0, pain(test, "2")), visit(14, pain(test, "6")), visit(28, pain(test, "6"))), surge, "by hand: 6 - 2 = 4 >= 3"},
		{"settled since", episode(visit(0, pain(test, "2")), visit(14, pain(test, "6")), visit(28, pain(test, "3"))), none, "by definition"},
		{"another occasion", episode(visit(0, pain(worst, "2")), visit(14, pain(test, "6"))), none, "by definition: not the same question"},
		{"long ago", episode(visit(0, pain(test, "2")), visit(85, pain(test, "6"))), none, "protocol: within 84 days"},
		{"without an occasion 2 to 6", episode(visit(0, pain(shoulder.PainUnstated, "2")), visit(14, pain(shoulder.PainUnstated, "6"))), surge, "by definition: the worst was no less"},
		{"without an occasion 5 to 6", episode(visit(0, pain(shoulder.PainUnstated, "5")), visit(14, pain(shoulder.PainUnstated, "6"))), none, "protocol: at least 3"},
		{"without an occasion 6, worst 2 before", episode(visit(0, pain(worst, "2")), visit(14, pain(shoulder.PainUnstated, "6"))), surge, "by definition: the worst was no less"},
		{"worst 6, without an occasion 2 before", episode(visit(0, pain(shoulder.PainUnstated, "2")), visit(14, pain(worst, "6"))), none, "by definition: the worst may have been as bad before"},
		{"without an occasion 8", episode(visit(0, pain(shoulder.PainUnstated, "8"))), high, "protocol: worst above 7"},
		{"without an occasion 7", episode(visit(0, pain(shoulder.PainUnstated, "7"))), none, "protocol: worst above 7"},
		{"without an occasion 8 beside worst 1", episode(visit(0, pain(shoulder.PainUnstated, "8"), pain(worst, "1"))), high, "by definition: one of them is wrong"},
		{"without an occasion 8, then worst 1", episode(visit(0, pain(shoulder.PainUnstated, "8")), visit(14, pain(worst, "1"))), none, "by definition: no pain was more"},
		{"worst 8, then 1 without an occasion", episode(visit(0, pain(worst, "8")), visit(14, pain(shoulder.PainUnstated, "1"))), high, "by definition: the worst may have been more"},

		{"rest 6", episode(visit(0, pain(rest, "6"))), high, "protocol: above 5"},
		{"rest 5", episode(visit(0, pain(rest, "5"))), none, "protocol: above 5"},
		{"worst 8", episode(visit(0, pain(worst, "8"))), high, "protocol: above 7"},
		{"worst 7", episode(visit(0, pain(worst, "7"))), none, "protocol: above 7"},
		{"in the test 8", episode(visit(0, pain(test, "8"))), none, "by definition: the gate of pain holds it"},
		{"rest 6, then 2", episode(visit(0, pain(rest, "6")), visit(14, pain(rest, "2"))), none, "by definition: the latest counts"},
		{"rest 6, then not asked", episode(visit(0, pain(rest, "6")), visit(14, pain(test, "1"))), high, "by definition: silence does not take it back"},
		{"rest 6 of the other shoulder", episode(visit(0, pain(rest, "6"), elsewhere)), none, "by definition"},
		{"worst 2 to 8", episode(visit(0, pain(worst, "2")), visit(14, pain(worst, "8"))), surge + " " + high, "by hand: a rise of 6, and above 7"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := codes(found(tt.of)); got != tt.want {
				t.Errorf("%q, want %q (%s)", got, tt.want, tt.source)
			}
		})
	}
}
