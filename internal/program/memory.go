package program

import (
	"os"
	"runtime/debug"
)

// collectAt is how much garbage, in per cent of the live heap, is let pile up.
// What a request and its answer are made of is garbage as soon as the answer is sent.
// At Go's default of 100 a request takes a sixth longer; 800 saves no more than 2 %.
const collectAt = 400

// softLimit is where the collector works harder instead: under overload the live
// heap is many times what it is between requests, and so would be the garbage.
// GOMEMLIMIT takes precedence.
const softLimit = 384 << 20

// tuneMemory sets the collector unless the operator has set it.
func tuneMemory() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(softLimit)
	}
}
