# make bench measures the service beside what it is compared with, in about nine
# minutes: internal/benchmark/REPORT.md has the last one. Everything else is go test and .ci/run.
.PHONY: bench
bench:
	go run ./internal/benchmark
