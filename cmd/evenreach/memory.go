package main

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
// GOMEMLIMIT stands over it.
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

// What the process needs before it computes anything, and what one request that is
// computed takes at most, with its PDF and chart, in bytes. Measured: 45 MiB at rest
// (deploy/README.md) and some 9 MiB more for each processor under load with documents.
const (
	atRest    = 48 << 20
	byRequest = 10 << 20
)

// processors is how many requests are computed at a time: one for each processor, if
// the memory that the collector keeps to is enough for that. Without this the memory
// of a Pod would follow the machine it happens to run on.
func processors(limit int64, available int) int {
	return max(1, min(available, int((limit-atRest)/byRequest)))
}
