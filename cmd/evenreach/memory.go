package main

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
