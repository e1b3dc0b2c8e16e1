//go:build !linux && !darwin

package config

import "math"

// maxOpenFiles is without a limit that could be asked for.
func maxOpenFiles() uint64 { return math.MaxUint64 }
