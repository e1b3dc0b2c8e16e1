package main

import (
	"context"
	"fmt"

	"evenreach.example/internal/config"
	"evenreach.example/internal/program"
	"evenreach.example/internal/protocol"
)

// printCommand prints the built-in thresholds.
type printCommand struct{}

// Run prints the built-in protocol with its comments.
func (printCommand) Run(_ context.Context, std program.Streams) error {
	_, err := std.Out.Write(protocol.DefaultText())
	return err
}

// checkCommand checks the thresholds of a clinic.
type checkCommand struct {
	File string `arg:"file" help:"The protocol file, YAML or JSON."`
}

// Run checks a protocol file.
func (c checkCommand) Run(_ context.Context, std program.Streams) error {
	p, err := config.ReadProtocol(c.File)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(std.Out, "%s: in order; id %s, version %s, digest %s\n", c.File, p.ID, p.Version, p.Digest())
	return err
}

// schemaCommand prints what a protocol file may hold.
type schemaCommand struct{}

// Run prints the schema.
func (schemaCommand) Run(_ context.Context, std program.Streams) error {
	_, err := std.Out.Write(protocol.Schema())
	return err
}
