package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
)

// path is one way to ask.
type path struct {
	name  string
	start func(ctx context.Context, s settings) *exec.Cmd
	dial  func() (caller, error)
}

// caller sends one request and waits for its answer.
type caller interface {
	call() error
	close()
}

// served measures the running service, one core for the server and one for the
// callers.
func served(ctx context.Context, s settings) error {
	body := fhirtest.Bundle60()
	heading(fmt.Sprintf("Service: 60 Observations, %d bytes, %d callers, one core each side", len(body), s.callers),
		"path", "requests a second", "processor ms a request", "p50 ms", "p95 ms", "p99 ms", "errors", "peak memory MB")
	for _, p := range paths(body) {
		if err := measure(ctx, p, s); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	return nil
}

func measure(ctx context.Context, p path, s settings) error {
	server, err := launch(ctx, p, s)
	if err != nil {
		return err
	}
	defer server.stop()
	before := processTime(server.pid())
	r, err := load(p, s.seconds, s.callers)
	if err != nil {
		return err
	}
	spent := float64((processTime(server.pid()) - before).Microseconds()) / 1000 / float64(max(r.count(), 1))
	row(p.name, fmt.Sprintf("%.0f", r.rate(s.seconds)), fmt.Sprintf("%.2f", spent),
		fmt.Sprintf("%.1f", r.quantile(0.50)), fmt.Sprintf("%.1f", r.quantile(0.95)), fmt.Sprintf("%.1f", r.quantile(0.99)), fmt.Sprint(r.errors), fmt.Sprintf("%.0f", status(server.pid(), "VmHWM")))
	return nil
}

// server is a process that answers.
type server struct {
	command *exec.Cmd
	ended   chan struct{} // closed when it has ended
}

// launch starts a server on one core, waits until it answers and warms it up.
func launch(ctx context.Context, p path, s settings) (*server, error) {
	command := p.start(ctx, s)
	command.Env = append(os.Environ(), "GOMAXPROCS=1")
	command.Stderr = os.Stderr
	if err := command.Start(); err != nil {
		return nil, err
	}
	started := &server{command, make(chan struct{})}
	go func() {
		_ = command.Wait()
		close(started.ended)
	}()
	err := started.waitReady(p)
	if err == nil {
		_, err = load(p, s.seconds/5, s.callers)
	}
	if err != nil {
		started.stop()
		return nil, err
	}
	return started, nil
}

func (s *server) pid() int { return s.command.Process.Pid }

func (s *server) stop() {
	_ = s.command.Process.Kill()
	<-s.ended
}

// waitReady calls until an answer comes, for at most ten seconds. The answer of
// another server that has the address is none: then this one has ended.
func (s *server) waitReady(p path) error {
	var last error
	for range 200 {
		select {
		case <-s.ended:
			return fmt.Errorf("the server ended: %s", s.command.ProcessState)
		case <-time.After(50 * time.Millisecond):
		}
		c, err := p.dial()
		if err == nil {
			err = c.call()
			c.close()
		}
		if err == nil {
			return nil
		}
		last = err
	}
	return fmt.Errorf("not ready: %w", last)
}
