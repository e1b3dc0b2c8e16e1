package redflag

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

// A loss of strength ends by a whole recovery of all tests that comes no sooner than two tests
// confirm each other. Source: protocol, 7 days (symmetry.confirmAfter); by hand.
func TestWhatRegainsStrength(t *testing.T) {
	tests := []struct {
		name  string
		after int // days
		then  func(*shoulder.Session)
		early bool
		want  string
	}{
		{"the next day", 1, both("100/100"), true, "sudden-strength-loss"},
		{"six days later", 6, both("100/100"), true, "sudden-strength-loss"},
		{"a week later", 7, both("100/100"), false, ""},
		{"later, a fifth less in all tests", 21, both("80/100"), false, "sudden-strength-loss"},
		{"later, a little less", 21, both("98/100"), false, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := found(episode(visit(0, both("102/100")), visit(21, both("45/100")), visit(21+tt.after, tt.then)))
			if got := codes(flags); got != tt.want {
				t.Fatalf("%q, want %q", got, tt.want)
			}
			if tt.want != "" && flags[0].From.IsZero() == tt.early {
				t.Errorf("another test counts from %v, want that said: %v", flags[0].From, tt.early)
			}
		})
	}
}
