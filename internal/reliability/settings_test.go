package reliability

import (
	"math/rand/v2"
	"strings"
	"testing"

	"evenreach.example/internal/protocol"
)

// load reads settings as a protocol file of their own.
func load(t *testing.T, settings []Setting) *protocol.Protocol {
	t.Helper()
	text := "id: own\n" + YAML(settings)
	p, err := protocol.Load([]byte(text))
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return p
}

// What a study comes to is a protocol that loads, whatever the condition, and a better
// condition has no more error.
func TestSettingsLoad(t *testing.T) {
	for _, sd := range []float64{0.01, 0.05, 0.09, 0.12, 0.2, 0.3} {
		w := world{subjects: 24, sessions: 2, trials: 3, sides: []string{"left", "right"}, tests: []string{"a", "b"}, raters: []string{"A"}, side: sd, trial: sd / 2}
		s, err := Analyse(w.draw(rand.New(rand.NewPCG(11, 12))))
		if err != nil {
			t.Fatal(err)
		}
		for c := Stabilised; c <= Unstabilised; c++ {
			settings, err := s.Settings(c, protocol.Default())
			if err != nil {
				t.Fatal(err)
			}
			p := load(t, settings)
			got := [...]protocol.Setting{p.Error.Stabilised, p.Error.Usual, p.Error.Unstabilised}[c]
			near(t, "error of "+c.String(), got.Float(), s.ErrorOf(3), 0.051) // for three trials, as the protocol says
			if !strings.Contains(got.Source, "24 subjects") {
				t.Errorf("source %q does not name the study", got.Source)
			}
			if p.Trials.Share.Value == protocol.Default().Trials.Share.Value || p.Error.Day.Value == protocol.Default().Error.Day.Value {
				t.Errorf("share %v, day %v: want the study's own", p.Trials.Share.Value, p.Error.Day.Value)
			}
		}
	}
}

// The error of a score of the clinic's own number of trials is what was measured, by
// the rule of the protocol: variance 1 - share + share x published / trials.
func TestErrorOfTheOwnNumberOfTrials(t *testing.T) {
	for trials := 1; trials <= 5; trials++ {
		w := world{subjects: 24, sessions: 2, trials: trials, sides: []string{""}, tests: []string{""}, raters: []string{"A"}, side: 0.08, trial: 0.05}
		s, err := Analyse(w.draw(rand.New(rand.NewPCG(13, 14))))
		if err != nil {
			t.Fatal(err)
		}
		settings, err := s.Settings(Usual, protocol.Default())
		if err != nil {
			t.Fatal(err)
		}
		p := load(t, settings)
		share := p.Trials.Share.Float() / 100
		variance := square(p.Error.Usual.Float()) * (1 - share + share*p.Trials.Published.Float()/float64(trials))
		near(t, "variance", variance, square(s.widest().Agreement.Value), 0.03*variance) // written with one place
	}
}

// A small study says that it hardly knows its error, where that is less than the
// protocol takes for known.
func TestErrorSpreadOfASmallStudy(t *testing.T) {
	draw := func(subjects int) *protocol.Protocol {
		w := world{subjects: subjects, sessions: 2, trials: 2, sides: []string{""}, tests: []string{""}, raters: []string{"A"}, side: 0.08, trial: 0.05, high: 0}
		s, err := Analyse(w.draw(rand.New(rand.NewPCG(15, 16))))
		if err != nil {
			t.Fatal(err)
		}
		settings, err := s.Settings(Usual, protocol.Default())
		if err != nil {
			t.Fatal(err)
		}
		return load(t, settings)
	}
	standard := protocol.Default().Course.ErrorSpread.Float()
	if got := draw(40).Course.ErrorSpread.Float(); got != standard {
		t.Errorf("40 subjects: %v, want the protocol's %v, because patients differ", got, standard)
	}
	if got := draw(5).Error.Usual.Source; !strings.Contains(got, "5 subjects, which are few") {
		t.Errorf("source %q", got)
	}
}

func TestNoSettings(t *testing.T) {
	tests := []struct {
		name string
		world
		want string
	}{
		{"one session", world{subjects: 12, sessions: 1, trials: 3, raters: []string{""}, trial: 0.05}, "another day"},
		{"raters in one session", world{subjects: 12, sessions: 1, trials: 3, raters: []string{"A", "B"}, rater: 0.05, trial: 0.05}, "another day"},
		{"useless measurements", world{subjects: 12, sessions: 2, trials: 3, raters: []string{"A"}, side: 0.7, trial: 0.05}, "more than any protocol takes"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.sides, tt.tests = []string{""}, []string{""}
			s, err := Analyse(tt.draw(rand.New(rand.NewPCG(17, 18))))
			if err != nil {
				t.Fatal(err)
			}
			if settings, err := s.Settings(Usual, protocol.Default()); err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("Settings = %v, %v, want %q", settings, err, tt.want)
			}
		})
	}
}
