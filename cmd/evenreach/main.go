// Command evenreach assesses how far the rotators of a shoulder have recovered:
// as a server for health records, and on files at a terminal.
package main

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
	exitOK      = 0
	exitRefused = 1 // the input was refused, or the server failed
	exitUsage   = 2 // flags, files or configuration are wrong
)

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
	c, rest := program.find(args)
	switch {
	case asksFor(rest, "-h", "--help"):
		return finish(std, c.writeHelp(std.out))
	case asksFor(rest, "--version"):
		_, err := fmt.Fprintln(std.out, version())
		return finish(std, err)
	}
	return finish(std, c.run(ctx, rest, std))
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
