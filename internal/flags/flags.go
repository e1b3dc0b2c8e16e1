// Package flags reads a command line and the environment into a struct, whose
// fields say in their tags what they are:
//
//	name         the name of a flag
//	arg          or that of an argument: one for a string, any number for []string
//	optional     true for an argument, a string, that may be left out
//	env          the environment variables, separated by commas, that stand in
//	             for a flag that is not given; the first that is set counts
//	default      the value if there is neither
//	alone        the value of a flag that is given without one, and for which the
//	             next argument is never taken
//	enum         the allowed values, separated by commas; the default is one too
//	placeholder  what the help calls the value
//	help         what it is for; ${default} stands for the default
//
// Flags are strings, ints and bools; a bool alone is true. The fields of an
// embedded struct are read as if they were the outer one's.
//
// Package flag of the standard library knows no environment, and ends at the
// first problem and at the first argument. Nothing here finds a method by its
// name: the linker would have to keep every exported method of the program.
package flags

import (
	"reflect"
	"strings"
)

// A Flag is a flag of a command.
type Flag struct {
	Name        string
	Variables   []string // environment variables, the first before the others
	Default     string
	Alone       string   // value if the flag is given without one; empty if it must have one
	Allowed     []string // values beside the default; nil for any
	Placeholder string   // what the help calls the value
	Help        string

	target any // *string, *bool or *int
}

// An Argument is an argument of a command that is not a flag's.
type Argument struct {
	Name, Help string
	Optional   bool // may be left out; []string always may

	target any // *string or *[]string
}

// A Set is what a command takes.
type Set struct {
	Flags     []*Flag
	Arguments []*Argument
}

// Of is what the struct that target points to takes, in the order of its fields.
func Of(target any) *Set {
	s := new(Set)
	s.add(reflect.ValueOf(target).Elem())
	return s
}

// add adds the fields of a struct.
func (s *Set) add(fields reflect.Value) {
	for i := range fields.NumField() {
		field, of := fields.Field(i), fields.Type().Field(i)
		tag := of.Tag.Get
		switch {
		case of.Anonymous:
			s.add(field)
		case tag("arg") != "":
			s.Arguments = append(s.Arguments, &Argument{Name: tag("arg"), Help: tag("help"), Optional: tag("optional") != "", target: field.Addr().Interface()})
		case tag("name") != "":
			s.Flags = append(s.Flags, newFlag(tag, field.Addr().Interface()))
		}
	}
}

// newFlag is the flag of a field with these tags.
func newFlag(tag func(string) string, target any) *Flag {
	f := &Flag{
		Name:        tag("name"),
		Variables:   list(tag("env")),
		Default:     tag("default"),
		Alone:       tag("alone"),
		Allowed:     list(tag("enum")),
		Placeholder: tag("placeholder"),
		Help:        strings.ReplaceAll(tag("help"), "${default}", tag("default")),
		target:      target,
	}
	if _, ok := target.(*bool); ok {
		f.Alone = "true"
	}
	return f
}

// list is what stands between commas.
func list(text string) []string {
	if text == "" {
		return nil
	}
	return strings.Split(text, ",")
}

// Flag finds a flag by its name; nil if there is none.
func (s *Set) Flag(name string) *Flag {
	for _, f := range s.Flags {
		if f.Name == name {
			return f
		}
	}
	return nil
}
