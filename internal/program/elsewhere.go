package program

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// leaveTo lets the other program do it, with the arguments, streams and environment of this one.
// The code is the one that the other program ended with.
func (c Command) leaveTo(ctx context.Context, args []string, std Streams) (code int, err error) {
	path, err := found(c.Elsewhere)
	if err != nil {
		return Usage, UsageError(fmt.Errorf("%s is done by the program %[2]s, which is neither beside this one nor on PATH (%[3]w); "+
			"it is built by: go build -C population -o ../bin/%[2]s ./cmd/%[2]s", c.Name, c.Elsewhere, err))
	}
	return become(ctx, path, args, std)
}

// found is where a program is: beside this one, or else on PATH. Beside comes first, so that the
// two are of one release where they were installed together.
func found(name string) (path string, err error) {
	if own, err := os.Executable(); err == nil {
		if beside, err := exec.LookPath(filepath.Join(filepath.Dir(own), name)); err == nil {
			return beside, nil
		}
	}
	return exec.LookPath(name)
}
