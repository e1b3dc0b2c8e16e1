//go:build linux || darwin

package population

import (
	"os"
	"syscall"
)

// freeDisk is how many bytes are free for files in a folder, if that can be told.
func freeDisk(folder string) (bytes int64, known bool) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(folder, &s); err != nil {
		return 0, false
	}
	return int64(s.Bavail) * int64(s.Bsize), true //nolint:unconvert // the types of the fields differ from system to system
}

// lock keeps a file for this process until it is unlocked, or the process ends however.
func lock(name string) (unlock func(), err error) {
	file, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR, 0o644)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		_ = file.Close() // nothing was written
		return nil, err
	}
	return func() { _ = file.Close() }, nil
}
