// Package program is what the programs of the command line have in common: commands and their
// help, exit codes, the version, the memory, and the pipeline by which files are answered.
package program

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/go-logr/logr"
	"go.opentelemetry.io/otel"
	"google.golang.org/grpc/grpclog"
)

// The exit codes.
const (
	OK      = 0
	Refused = 1 // the input was refused, or the server failed
	Usage   = 2 // flags, files or configuration are wrong
)

// Streams are where a command reads and writes.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// IsTerminal reports whether a person watches what is written there.
func IsTerminal(out io.Writer) bool {
	file, ok := out.(*os.File)
	if !ok {
		return false
	}
	info, err := file.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// usageError is an error of the one who started the program.
type usageError struct{ error }

// Unwrap gives the error.
func (e usageError) Unwrap() error { return e.error }

// UsageError is an error of the one who started the program, which then ends with Usage.
func UsageError(err error) error { return usageError{err} }

// Main runs a program with the arguments and streams of the process, and ends it.
func Main(c Command) {
	// What gRPC, the gateway and OpenTelemetry log of their own may quote headers.
	otel.SetLogger(logr.Discard())
	otel.SetErrorHandler(otel.ErrorHandlerFunc(func(error) {}))
	grpclog.SetLoggerV2(grpclog.NewLoggerV2(io.Discard, io.Discard, io.Discard))
	tuneMemory()
	os.Exit(c.Run(context.Background(), os.Args[1:], Streams{os.Stdin, os.Stdout, os.Stderr}))
}

// Run runs the command that the arguments begin with, and returns the exit code.
func (c Command) Run(ctx context.Context, args []string, std Streams) int {
	err := c.respond(ctx, args, std)
	if err == nil {
		return OK
	}
	fmt.Fprintf(std.Err, "%s: %v\n", c.Name, err)
	if _, ok := errors.AsType[usageError](err); ok {
		return Usage
	}
	return Refused
}

// respond does what the arguments ask for.
func (c Command) respond(ctx context.Context, args []string, std Streams) error {
	found, rest := c.find(args)
	switch {
	case found.Elsewhere != "":
		return found.execOther(rest)
	case asksFor(rest, "-h", "--help"):
		return found.writeHelp(std.Out)
	case asksFor(rest, "--version"):
		_, err := fmt.Fprintln(std.Out, Version())
		return err
	}
	return found.do(ctx, rest, std)
}
