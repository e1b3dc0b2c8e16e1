package flags

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

type common struct {
	Level string `name:"level" env:"TEST_LEVEL,TEST_OTHER_LEVEL" default:"low" enum:"low,high" placeholder:"LEVEL" help:"How much (${default})."`
}

type options struct {
	File    string   `arg:"file" help:"What is read."`
	Others  []string `arg:"other" help:"What is read too."`
	Count   int      `name:"count" env:"TEST_COUNT" placeholder:"N" help:"How many."`
	Address string   `name:"address" default:":80" placeholder:"ADDRESS" help:"Where."`
	Dry     bool     `name:"dry" env:"TEST_DRY" help:"Do nothing."`
	Colour  string   `name:"colour" alone:"always" help:"Colours."`
	common
}

// What a command line means follows from the documentation of Parse and of the
// tags.
func TestParse(t *testing.T) {
	defaults := options{File: "f", Address: ":80", common: common{Level: "low"}}
	with := func(change func(*options)) options {
		o := defaults
		change(&o)
		return o
	}
	tests := []struct {
		name string
		env  map[string]string
		args string // separated by spaces
		want options
	}{
		{"defaults", nil, "f", defaults},
		{"value after =", nil, "f --address=x=y", with(func(o *options) { o.Address = "x=y" })},
		{"value as the next argument", nil, "--address x f", with(func(o *options) { o.Address = "x" })},
		{"empty value", nil, "f --address=", with(func(o *options) { o.Address = "" })},
		{"given twice", nil, "--address x f --address y", with(func(o *options) { o.Address = "y" })},
		{"- is no flag", nil, "--address - -", with(func(o *options) { o.Address, o.File = "-", "-" })},
		{"a bool takes no argument", nil, "--dry f", with(func(o *options) { o.Dry = true })},
		{"a bool with a value", map[string]string{"TEST_DRY": "yes"}, "f --dry=No", defaults},
		{"a value alone", nil, "--colour f", with(func(o *options) { o.Colour = "always" })},
		{"another than the one alone", nil, "--colour=never f", with(func(o *options) { o.Colour = "never" })},
		{"arguments between flags", nil, "f --count=3 g --dry h", with(func(o *options) { o.Count, o.Dry, o.Others = 3, true, []string{"g", "h"} })},
		{"no flag after --", nil, "f -- --dry --", with(func(o *options) { o.Others = []string{"--dry", "--"} })},
		{"environment", map[string]string{"TEST_COUNT": "-2"}, "f", with(func(o *options) { o.Count = -2 })},
		{"flag over environment", map[string]string{"TEST_COUNT": "x"}, "f --count=4", with(func(o *options) { o.Count = 4 })},
		{"first variable over the second", map[string]string{"TEST_LEVEL": "high", "TEST_OTHER_LEVEL": "low"}, "f", with(func(o *options) { o.Level = "high" })},
		{"second variable over the default", map[string]string{"TEST_OTHER_LEVEL": "high"}, "f", with(func(o *options) { o.Level = "high" })},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for name, value := range tt.env {
				t.Setenv(name, value)
			}
			var got options
			if err := Of(&got).Parse(strings.Fields(tt.args)); err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(got, tt.want) {
				t.Errorf("got %+v, want %+v", got, tt.want)
			}
		})
	}
}

func TestProblems(t *testing.T) {
	tests := []struct {
		name string
		env  map[string]string
		args string
		want []string
	}{
		{"no argument", nil, "", []string{"expected <file>"}},
		{"unknown flag, whose argument says nothing", nil, "--addres f g", []string{"unknown flag --addres; did you mean --address?"}},
		{"one dash", nil, "-dry f", []string{"unknown flag -dry; did you mean --dry?"}},
		{"nothing like it", nil, "--verbose=3", []string{"unknown flag --verbose"}},
		{"no value at the end", nil, "f --count", []string{"--count: found no value; expected --count=N"}},
		{"no value before a flag", nil, "f --count --dry", []string{"--count: found no value; expected --count=N"}},
		{"not allowed", nil, "f --level=loud", []string{`--level: found "loud"; expected one of low, high`}},
		{"every problem", map[string]string{"TEST_DRY": "perhaps", "TEST_LEVEL": ""}, "f --count many -x --address", []string{
			`--count: found "many"; expected a whole number`,
			"unknown flag -x",
			"--address: found no value; expected --address=ADDRESS",
			`TEST_DRY: found "perhaps"; expected true or false`,
			`TEST_LEVEL: found ""; expected one of low, high`,
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for name, value := range tt.env {
				t.Setenv(name, value)
			}
			err := Of(new(options)).Parse(strings.Fields(tt.args))
			if err == nil || err.Error() != strings.Join(tt.want, "\n") {
				t.Errorf("problems:\n%v\nwant:\n%s", err, strings.Join(tt.want, "\n"))
			}
		})
	}
}

func TestUnexpectedArgument(t *testing.T) {
	var o struct {
		File string `arg:"file"`
	}
	if err := Of(&o).Parse([]string{"a", "b", "c"}); err == nil || err.Error() != "unexpected argument b\nunexpected argument c" {
		t.Errorf("problems %v, want both arguments", err)
	}
}

func TestOptionalArgument(t *testing.T) {
	var o struct {
		File string `arg:"file" optional:"true"`
	}
	set := Of(&o)
	if err := set.Parse(nil); err != nil || o.File != "" || set.Usage() != "[<file>]" {
		t.Errorf("%v, file %q, usage %q; want none, and [<file>]", err, o.File, set.Usage())
	}
	if err := set.Parse([]string{"a"}); err != nil || o.File != "a" {
		t.Errorf("%v, file %q, want a", err, o.File)
	}
}

// Whatever is given, reading it ends without a panic, and what is read without a
// problem is read again from the values alone.
func TestAnyCommandLine(t *testing.T) {
	word := rapid.OneOf(rapid.SampledFrom([]string{"--", "-", "--count", "--count=2", "--level", "high", "--dry", "--dry=no", "--colour", "f", "="}), rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		var got options
		if Of(&got).Parse(rapid.SliceOf(word).Draw(t, "arguments")) != nil {
			return
		}
		args := []string{"--level=" + got.Level, "--address=" + got.Address, "--colour=" + got.Colour}
		if got.Dry {
			args = append(args, "--dry")
		}
		again := options{Count: got.Count}
		if err := Of(&again).Parse(append(append(args, "--", got.File), got.Others...)); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(again, got) {
			t.Errorf("read again %+v, want %+v", again, got)
		}
	})
}

func TestHelp(t *testing.T) {
	set := Of(new(options))
	if got, want := set.Usage(), "<file> [<other> ...] [flags]"; got != want {
		t.Errorf("usage %q, want %q", got, want)
	}
	const want = `
Arguments:
  <file>
        What is read.
  [<other> ...]
        What is read too.

Flags:
  --count=N
        How many. [$TEST_COUNT]
  --address=ADDRESS
        Where.
  --dry
        Do nothing. [$TEST_DRY]
  --colour
        Colours.
  --level=LEVEL
        How much (low). [$TEST_LEVEL, $TEST_OTHER_LEVEL]
`
	if got := set.Help(); got != want {
		t.Errorf("help:\n%s\nwant:\n%s", got, want)
	}
}

func TestHelpIsWrappedWithoutLoss(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-z]{1,70}`), 1, 40).Draw(t, "words")
		head, text, _ := strings.Cut(Entry("--flag", strings.Join(words, " ")), "\n")
		if head != "  --flag" {
			t.Fatalf("head %q", head)
		}
		if got := strings.Fields(text); !reflect.DeepEqual(got, words) {
			t.Errorf("words %q, want %q", got, words)
		}
		for line := range strings.Lines(text) {
			if len(line) > width+1 {
				t.Errorf("%d characters in %q", len(line)-1, line)
			}
		}
	})
}

// Source: the textbook's example of a distance of 3 is kitten and sitting.
func TestDistance(t *testing.T) {
	tests := []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"flaw", "lawn", 2}, {"same", "same", 0},
	}
	for _, tt := range tests {
		if got := distance(tt.a, tt.b); got != tt.want {
			t.Errorf("distance of %q and %q is %d, want %d", tt.a, tt.b, got, tt.want)
		}
	}
}
