//go:build linux || darwin

package config

import (
	"math"
	"syscall"
)

// maxOpenFiles is how many files the process may have open. Go raises it to what the
// system allows as the process begins.
func maxOpenFiles() uint64 {
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &limit); err != nil {
		return math.MaxUint64
	}
	return limit.Cur
}
