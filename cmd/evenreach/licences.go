package main

import (
	"context"
	_ "embed"

	"evenreach.example/internal/program"
)

// The licences ask for their texts to go with the binary: in it, they do
// wherever it is copied.
//
//go:embed THIRD-PARTY.md
var thirdParty []byte

// licencesCommand prints whose work is in the binary.
type licencesCommand struct{}

// Run prints the linked modules, their licences and the texts.
func (licencesCommand) Run(_ context.Context, std program.Streams) error {
	_, err := std.Out.Write(thirdParty)
	return err
}
