package program

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
)

// execOther puts the other program in the place of this one, in the same process and with the same
// arguments, so that streams, environment, signals and exit code are those of this one. It returns
// only if that failed.
func (c Command) execOther(args []string) error {
	path, err := locate(c.Elsewhere)
	if err != nil {
		return UsageError(fmt.Errorf("%s is done by the program %[2]s, which is neither in the folder of this one nor on PATH (%[3]w); "+
			"it is built by: go build -C population -o ../bin/%[2]s ./cmd/%[2]s", c.Name, c.Elsewhere, err))
	}
	err = syscall.Exec(path, append([]string{path}, args...), os.Environ())
	return &os.PathError{Op: "exec", Path: path, Err: err}
}

// locate finds a program: in the folder of this one, or else on PATH. The folder comes first, so that the
// two are of one release where they were installed together.
func locate(name string) (path string, err error) {
	if own, err := os.Executable(); err == nil {
		if installed, err := exec.LookPath(filepath.Join(filepath.Dir(own), name)); err == nil {
			return installed, nil
		}
	}
	return exec.LookPath(name)
}
