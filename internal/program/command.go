package program

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"evenreach.example/internal/flags"
)

// A Command is what a program does, or a group of such; the program itself is one.
type Command struct {
	Name string
	Help string
	// Create makes what flags and arguments are read into; nil for a group that
	// does nothing without one of its commands.
	Create func() Runner
	Group  []Command
	// Elsewhere names the program that does it instead, with all arguments.
	Elsewhere string
}

// Runner does what a command is for.
type Runner interface {
	Run(context.Context, Streams) error
}

// find is the command that the arguments begin with, by its full name, and the
// rest of them.
func (c Command) find(args []string) (Command, []string) {
	for _, s := range c.Group {
		if len(args) > 0 && args[0] == s.Name {
			s.Name = c.Name + " " + s.Name
			return s.find(args[1:])
		}
	}
	return c, args
}

// do reads the arguments and does what the command is for.
func (c Command) do(ctx context.Context, args []string, std Streams) error {
	if c.Group != nil && len(args) > 0 {
		return usageError{fmt.Errorf("unknown command %s%s", args[0], flags.Suggest(args[0], c.names()))}
	}
	if c.Create == nil {
		return usageError{fmt.Errorf("expected a command: %s", strings.Join(c.names(), ", "))}
	}
	r := c.Create()
	if err := flags.Of(r).Parse(args); err != nil {
		return usageError{fmt.Errorf("%w\n%s --help says more", err, c.Name)}
	}
	return r.Run(ctx, std)
}

// names are those of the commands of a group.
func (c Command) names() []string {
	names := make([]string, len(c.Group))
	for i, s := range c.Group {
		names[i] = s.Name
	}
	return names
}

// asksFor reports whether one of these flags is among the arguments.
func asksFor(args []string, names ...string) bool {
	for _, arg := range args {
		if arg == "--" {
			return false
		}
		if slices.Contains(names, arg) {
			return true
		}
	}
	return false
}

// writeHelp writes all that a command takes, or the commands of a group.
func (c Command) writeHelp(out io.Writer) error {
	usage, lists := "<command>", "\nCommands:\n"+c.list("")
	if c.Group == nil {
		takes := flags.Of(c.Create())
		usage, lists = takes.Usage(), takes.Help()
	}
	_, err := fmt.Fprintf(out, "Usage: %s\n\n%s\n%s\nFlags of every command:\n%s%s", strings.TrimSpace(c.Name+" "+usage), c.Help, lists,
		flags.Entry("-h, --help", "Print what the command takes."), flags.Entry("--version", "Print the version."))
	return err
}

// list lists the commands of a group, and of those in it, with what they take.
func (c Command) list(prefix string) string {
	var b strings.Builder
	for _, s := range c.Group {
		name := prefix + s.Name
		if s.Group != nil {
			b.WriteString(s.list(name + " "))
			continue
		}
		usage := "[arguments]"
		if s.Elsewhere == "" {
			usage = flags.Of(s.Create()).Usage()
		}
		b.WriteString(flags.Entry(strings.TrimSpace(name+" "+usage), s.Help))
	}
	return b.String()
}
