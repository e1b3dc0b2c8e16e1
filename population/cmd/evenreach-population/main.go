// Command evenreach-population assesses every shoulder of an export, and summarises them. Who has
// evenreach beside it calls it as evenreach population.
package main

import "evenreach.example/internal/program"

func main() { program.Main(evenreachPopulation) }

// evenreachPopulation is the command line.
var evenreachPopulation = program.Command{
	Name:   "evenreach-population",
	Help:   "Assess every shoulder of an export, and summarise them.",
	Create: func() program.Runner { return new(populationCommand) },
}
