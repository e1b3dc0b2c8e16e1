package main

import (
	"os"
	"runtime/debug"
)

// collectAt is how much garbage, in per cent of the live heap, is let pile up.
// The descriptors of FHIR's protocol buffers are a live heap of about 17 MB
// that each collection marks anew: at Go's default of 100 that costs a third of
// the throughput. GOMEMLIMIT still bounds the whole.
const collectAt = 400

// tuneMemory sets the collector unless the operator has set it.
func tuneMemory() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
}
