// Command evenreach assesses how far the rotators of a shoulder have recovered:
// as a server for health records, and on files at a terminal.
package main

import "evenreach.example/internal/program"

func main() { program.Main(evenreach) }

// evenreach is the command line.
var evenreach = program.Command{
	Name: "evenreach",
	Help: "Symmetry, readiness and plan from shoulder rotation strength, in FHIR R4.",
	Group: []program.Command{
		{Name: "assess", Help: "Assess one episode from a file.", Create: func() program.Runner { return new(assessCommand) }},
		{Name: "batch", Help: "Assess many episodes, one a line.", Create: func() program.Runner { return new(batchCommand) }},
		{Name: "population", Help: "Assess every shoulder of an export, and summarise them; evenreach-population does it.", Elsewhere: "evenreach-population"},
		{Name: "serve", Help: "Serve gRPC and REST.", Create: func() program.Runner { return new(serveCommand) }},
		{
			Name:   "protocol",
			Help:   "Print or check the thresholds to decide by.",
			Create: func() program.Runner { return new(printCommand) },
			Group: []program.Command{
				{Name: "print", Help: "Print the built-in protocol, to start one's own from.", Create: func() program.Runner { return new(printCommand) }},
				{Name: "check", Help: "Check a protocol file and report every problem.", Create: func() program.Runner { return new(checkCommand) }},
				{Name: "schema", Help: "Print the JSON Schema of a protocol file.", Create: func() program.Runner { return new(schemaCommand) }},
			},
		},
		{Name: "reliability", Help: "Work out the clinic's own measurement error from test-retest data.", Create: func() program.Runner { return new(reliabilityCommand) }},
		{Name: "licences", Help: "Print the work of others in this program, with its licences.", Create: func() program.Runner { return new(licencesCommand) }},
	},
}
