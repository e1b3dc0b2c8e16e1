package program

import (
	"os"
	"runtime/debug"
)

// collectAt is how much garbage, in per cent of the live heap, is let pile up.
// The descriptors of FHIR's protocol buffers are a live heap of about 17 MB
// that each collection marks anew: at Go's default of 100 that costs a third of
// the throughput.
const collectAt = 400

// softLimit is where the collector works harder instead: under overload the live
// heap is several times that of the descriptors, and so would be the garbage.
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
