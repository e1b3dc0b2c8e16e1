package main

import (
	"fmt"

	"evenreach.example/internal/config"
	"evenreach.example/internal/protocol"
)

// protocolCommand is about the thresholds.
type protocolCommand struct {
	Print  printCommand  `cmd:"" default:"1" help:"Print the built-in protocol, to start one's own from."`
	Check  checkCommand  `cmd:"" help:"Check a protocol file and report every problem."`
	Schema schemaCommand `cmd:"" help:"Print the JSON Schema of a protocol file."`
}

type printCommand struct{}

// Run prints the built-in protocol with its comments.
func (printCommand) Run(std streams) error {
	_, err := std.out.Write(protocol.DefaultText())
	return err
}

type checkCommand struct {
	File string `arg:"" help:"The protocol file, YAML or JSON."`
}

// Run checks a protocol file.
func (c checkCommand) Run(std streams) error {
	p, err := config.ReadProtocol(c.File)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(std.out, "%s: in order; id %s, version %s, digest %s\n", c.File, p.ID, p.Version, p.Digest())
	return err
}

type schemaCommand struct{}

// Run prints the schema.
func (schemaCommand) Run(std streams) error {
	_, err := std.out.Write(protocol.Schema())
	return err
}
