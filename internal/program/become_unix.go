//go:build unix

package program

import (
	"context"
	"os"
	"syscall"
)

// become puts another program in the place of this one, in the same process: its streams, its
// signals and how it ends are those of this one. It returns only if that failed.
func become(_ context.Context, path string, args []string, _ Streams) (code int, err error) {
	err = syscall.Exec(path, append([]string{path}, args...), os.Environ())
	return Refused, &os.PathError{Op: "exec", Path: path, Err: err}
}
