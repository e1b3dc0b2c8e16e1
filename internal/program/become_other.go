//go:build !unix

package program

import (
	"context"
	"errors"
	"os/exec"
)

// become runs another program to its end, where no process can turn into another one.
func become(ctx context.Context, path string, args []string, std Streams) (code int, err error) {
	child := exec.CommandContext(ctx, path, args...)
	child.Stdin, child.Stdout, child.Stderr = std.In, std.Out, std.Err
	err = child.Run()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		return exit.ExitCode(), nil
	}
	return OK, err
}
