package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"evenreach.example/internal/flags"
)

// A command is what the program does, or a group of such.
type command struct {
	name string
	help string
	// create makes what flags and arguments are read into; nil for a group that
	// does nothing without one of its commands.
	create func() runner
	group  []command
}

// runner does what a command is for.
type runner interface {
	Run(context.Context, streams) error
}

// program is the command line.
var program = command{
	name: "evenreach",
	help: "Symmetry, readiness and plan from shoulder rotation strength, in FHIR R4.",
	group: []command{
		{name: "assess", help: "Assess one episode from a file.", create: func() runner { return new(assessCommand) }},
		{name: "batch", help: "Assess many episodes, one a line.", create: func() runner { return new(batchCommand) }},
		{name: "population", help: "Assess every shoulder of an export, and summarise them.", create: func() runner { return new(populationCommand) }},
		{name: "serve", help: "Serve gRPC and REST.", create: func() runner { return new(serveCommand) }},
		{
			name:   "protocol",
			help:   "Print or check the thresholds to decide by.",
			create: func() runner { return new(printCommand) },
			group: []command{
				{name: "print", help: "Print the built-in protocol, to start one's own from.", create: func() runner { return new(printCommand) }},
				{name: "check", help: "Check a protocol file and report every problem.", create: func() runner { return new(checkCommand) }},
				{name: "schema", help: "Print the JSON Schema of a protocol file.", create: func() runner { return new(schemaCommand) }},
			},
		},
		{name: "reliability", help: "Work out the clinic's own measurement error from test-retest data.", create: func() runner { return new(reliabilityCommand) }},
		{name: "licences", help: "Print the work of others in this program, with its licences.", create: func() runner { return new(licencesCommand) }},
	},
}

// find is the command that the arguments begin with, by its full name, and the
// rest of them.
func (c command) find(args []string) (command, []string) {
	for _, s := range c.group {
		if len(args) > 0 && args[0] == s.name {
			s.name = c.name + " " + s.name
			return s.find(args[1:])
		}
	}
	return c, args
}

// run reads the arguments and does what the command is for.
func (c command) run(ctx context.Context, args []string, std streams) error {
	if c.group != nil && len(args) > 0 {
		return usageError{fmt.Errorf("unknown command %s%s", args[0], flags.Suggest(args[0], c.names()))}
	}
	if c.create == nil {
		return usageError{fmt.Errorf("expected a command: %s", strings.Join(c.names(), ", "))}
	}
	r := c.create()
	if err := flags.Of(r).Parse(args); err != nil {
		return usageError{fmt.Errorf("%w\n%s --help says more", err, c.name)}
	}
	return r.Run(ctx, std)
}

// names are those of the commands of a group.
func (c command) names() []string {
	names := make([]string, len(c.group))
	for i, s := range c.group {
		names[i] = s.name
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
func (c command) writeHelp(out io.Writer) error {
	usage, lists := "<command>", "\nCommands:\n"+c.list("")
	if c.group == nil {
		takes := flags.Of(c.create())
		usage, lists = takes.Usage(), takes.Help()
	}
	_, err := fmt.Fprintf(out, "Usage: %s\n\n%s\n%s\nFlags of every command:\n%s%s", strings.TrimSpace(c.name+" "+usage), c.help, lists,
		flags.Entry("-h, --help", "Print what the command takes."), flags.Entry("--version", "Print the version."))
	return err
}

// list lists the commands of a group, and of those in it, with what they take.
func (c command) list(prefix string) string {
	var b strings.Builder
	for _, s := range c.group {
		name := prefix + s.name
		if s.group != nil {
			b.WriteString(s.list(name + " "))
			continue
		}
		usage := flags.Of(s.create()).Usage()
		b.WriteString(flags.Entry(strings.TrimSpace(name+" "+usage), s.help))
	}
	return b.String()
}
