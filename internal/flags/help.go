package flags

import "strings"

// width is that of help, in characters: of a terminal by common practice.
const width = 80

// Usage is what follows the name of the command, such as "<file> [flags]".
func (s *Set) Usage() string {
	var words []string
	for _, a := range s.Arguments {
		words = append(words, a.usage())
	}
	if len(s.Flags) > 0 {
		words = append(words, "[flags]")
	}
	return strings.Join(words, " ")
}

func (a *Argument) usage() string {
	if _, many := a.target.(*[]string); many {
		return "[<" + a.Name + "> ...]"
	}
	if a.Optional {
		return "[<" + a.Name + ">]"
	}
	return "<" + a.Name + ">"
}

// Help lists arguments and flags, with their environment variables.
func (s *Set) Help() string {
	var b strings.Builder
	if len(s.Arguments) > 0 {
		b.WriteString("\nArguments:\n")
	}
	for _, a := range s.Arguments {
		b.WriteString(Entry(a.usage(), a.Help))
	}
	if len(s.Flags) > 0 {
		b.WriteString("\nFlags:\n")
	}
	for _, f := range s.Flags {
		b.WriteString(Entry(f.usage(), f.Help+f.variables()))
	}
	return b.String()
}

// usage is how the flag is written.
func (f *Flag) usage() string {
	if f.Alone != "" {
		return "--" + f.Name
	}
	return "--" + f.Name + "=" + f.Placeholder
}

// variables are the flag's environment variables, in brackets.
func (f *Flag) variables() string {
	if f.Variables == nil {
		return ""
	}
	return " [$" + strings.Join(f.Variables, ", $") + "]"
}

// Entry is one entry of a list of help: its head, and the text below it.
func Entry(head, text string) string {
	const indent = "        "
	var b strings.Builder
	b.WriteString("  " + head)
	left := 0 // of the line, in bytes: help has hardly any letter of more than one
	for word := range strings.FieldsSeq(text) {
		if left < len(word)+1 {
			b.WriteString("\n" + indent + word)
			left = width - len(indent) - len(word)
			continue
		}
		b.WriteString(" " + word)
		left -= len(word) + 1
	}
	b.WriteString("\n")
	return b.String()
}
