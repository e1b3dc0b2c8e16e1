// Command evenreach assesses how far the rotators of a shoulder have recovered:
// as a server for health records, and on files at a terminal.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/alecthomas/kong"
	"github.com/go-logr/logr"
	"go.opentelemetry.io/otel"
	"google.golang.org/grpc/grpclog"
)

// The exit codes.
const (
	exitOK      = 0
	exitRefused = 1 // the input was refused, or the server failed
	exitUsage   = 2 // flags, files or configuration are wrong
)

// cli is the command line. It wires and decides nothing.
type cli struct {
	Assess      assessCommand      `cmd:"" help:"Assess one episode from a file."`
	Batch       batchCommand       `cmd:"" help:"Assess many episodes, one a line."`
	Serve       serveCommand       `cmd:"" help:"Serve gRPC and REST."`
	Protocol    protocolCommand    `cmd:"" help:"Print or check the thresholds to decide by."`
	Reliability reliabilityCommand `cmd:"" help:"Work out the clinic's own measurement error from test-retest data."`
	Licences    licencesCommand    `cmd:"" help:"Print the work of others in this program, with its licences."`
	Version     kong.VersionFlag   `help:"Print the version."`
}

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// usageError is an error of the one who started the program.
type usageError struct{ error }

// Unwrap gives the error.
func (e usageError) Unwrap() error { return e.error }

func main() {
	// What gRPC, the gateway and OpenTelemetry log of their own may quote headers.
	otel.SetLogger(logr.Discard())
	otel.SetErrorHandler(otel.ErrorHandlerFunc(func(error) {}))
	grpclog.SetLoggerV2(grpclog.NewLoggerV2(io.Discard, io.Discard, io.Discard))
	tuneMemory()
	os.Exit(run(context.Background(), os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr}))
}

// run runs one command and returns the exit code.
func run(ctx context.Context, args []string, std streams) int {
	parser, err := kong.New(&cli{},
		kong.Name("evenreach"),
		kong.Description("Symmetry, readiness and plan from shoulder rotation strength, in FHIR R4."),
		kong.Vars{"version": version()},
		kong.Writers(std.out, std.err),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(std),
	)
	if err != nil {
		return finish(std, err)
	}
	command, err := parser.Parse(args)
	if err != nil {
		return finish(std, usageError{fmt.Errorf("%w; evenreach --help says more", err)})
	}
	return finish(std, command.Run())
}

// finish writes an error and returns the exit code for it.
func finish(std streams, err error) int {
	if err == nil {
		return exitOK
	}
	fmt.Fprintln(std.err, "evenreach:", err)
	if _, ok := errors.AsType[usageError](err); ok {
		return exitUsage
	}
	return exitRefused
}
