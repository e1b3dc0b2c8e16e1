# make bench measures the service beside what it is compared with, in about
# seven minutes. Everything else is go test and .ci/run.
.PHONY: bench
bench:
	go run ./internal/benchmark
