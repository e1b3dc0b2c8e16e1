// Package resilience tries the program as it runs: replicas behind a proxy that
// are killed under load, hours of load with hostile callers, and what goes wrong
// around a service, one fault at a time.
//
// The tests have the build tag resilience and need haproxy, and Node with what
// npm ci installs in internal/conformance: .ci/run resilience. The long run is
// .ci/run soak.
package resilience
