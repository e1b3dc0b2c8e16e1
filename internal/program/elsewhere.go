package program

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
)

// leaveTo puts the other program in the place of this one, in the same process and with the same
// arguments, so that streams, environment, signals and exit code are those of this one. It returns
// only if that failed.
func (c Command) leaveTo(args []string) error {
	path, err := found(c.Elsewhere)
	if err != nil {
		return UsageError(fmt.Errorf("%s is done by the program %[2]s, which is neither beside this one nor on PATH (%[3]w); "+
			"it is built by: go build -C population -o ../bin/%[2]s ./cmd/%[2]s", c.Name, c.Elsewhere, err))
	}
	err = syscall.Exec(path, append([]string{path}, args...), os.Environ())
	return &os.PathError{Op: "exec", Path: path, Err: err}
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
