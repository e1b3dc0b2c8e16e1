package flags

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
)

// Parse reads flags, arguments and environment into the struct. A flag is
// --name=value or --name value, or --name if it has a value alone; nothing after
// -- is a flag. The error lists every problem, one a line.
func (s *Set) Parse(args []string) error {
	p := parser{set: s, given: map[*Flag]bool{}}
	for len(args) > 0 {
		args = p.take(args)
	}
	// After an unknown flag stands an argument or its value, nobody knows which.
	if len(p.problems) == 0 {
		p.arguments()
	}
	for _, f := range s.Flags {
		if !p.given[f] {
			p.fallBack(f)
		}
	}
	return errors.Join(p.problems...)
}

// parser is what one command line has come to so far.
type parser struct {
	set      *Set
	given    map[*Flag]bool
	words    []string // what is neither a flag nor the value of one
	problems []error
}

// take reads the first of the arguments, a flag with its value, and returns the
// rest.
func (p *parser) take(args []string) []string {
	first, rest := args[0], args[1:]
	switch {
	case first == "--":
		p.words = append(p.words, rest...)
		return nil
	case isFlag(first):
		return p.flag(first, rest)
	}
	p.words = append(p.words, first)
	return rest
}

// flag reads a flag, whose value may be the first of the rest.
func (p *parser) flag(first string, rest []string) []string {
	before, value, hasValue := strings.Cut(first, "=")
	f := p.set.Flag(strings.TrimPrefix(before, "--"))
	if f == nil {
		p.report("unknown flag %s%s", before, p.suggest(before))
		return rest
	}
	p.given[f] = true
	switch {
	case hasValue:
	case f.Alone != "":
		value = f.Alone
	case len(rest) > 0 && !isFlag(rest[0]):
		value, rest = rest[0], rest[1:]
	default:
		p.report("%s: found no value; expected %[1]s=%s", before, f.Placeholder)
		return rest
	}
	p.fill(before, f, value)
	return rest
}

// isFlag tells a flag from other arguments; - alone is a file.
func isFlag(arg string) bool { return len(arg) > 1 && arg[0] == '-' }

// suggest is the flag that may have been meant.
func (p *parser) suggest(name string) string {
	var names []string
	for _, f := range p.set.Flags {
		names = append(names, "--"+f.Name)
	}
	return Suggest(name, names)
}

// arguments gives the words to the arguments.
func (p *parser) arguments() {
	words := p.words
	for _, a := range p.set.Arguments {
		switch target := a.target.(type) {
		case *[]string:
			*target, words = append(*target, words...), nil
		case *string:
			if len(words) == 0 && a.Optional {
				continue
			}
			if len(words) == 0 {
				p.report("expected <%s>", a.Name)
				continue
			}
			*target, words = words[0], words[1:]
		}
	}
	for _, word := range words {
		p.report("unexpected argument %s", word)
	}
}

// fallBack sets a flag that is not given.
func (p *parser) fallBack(f *Flag) {
	for _, variable := range f.Variables {
		if value, ok := os.LookupEnv(variable); ok {
			p.fill(variable, f, value)
			return
		}
	}
	if f.Default != "" {
		p.fill("--"+f.Name, f, f.Default)
	}
}

// fill sets a flag to a value, which was found under a name.
func (p *parser) fill(name string, f *Flag, value string) {
	if err := f.set(value); err != nil {
		p.report("%s: found %q; expected %v", name, value, err)
	}
}

func (p *parser) report(format string, args ...any) {
	p.problems = append(p.problems, fmt.Errorf(format, args...))
}

// set sets the field. The error says what was expected.
func (f *Flag) set(value string) (err error) {
	if f.Allowed != nil && value != f.Default && !slices.Contains(f.Allowed, value) {
		return errors.New("one of " + strings.Join(f.Allowed, ", "))
	}
	switch target := f.target.(type) {
	case *string:
		*target = value
	case *int:
		if *target, err = strconv.Atoi(value); err != nil {
			return errors.New("a whole number")
		}
	case *bool:
		*target, err = Truth(value)
	}
	return err
}

// Truth reads what shells and deployments write for true and false. The error
// says what was expected.
func Truth(text string) (bool, error) {
	switch strings.ToLower(text) {
	case "true", "yes", "1":
		return true, nil
	case "false", "no", "0":
		return false, nil
	}
	return false, errors.New("true or false")
}
