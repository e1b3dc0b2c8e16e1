package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os/signal"
	"syscall"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"golang.org/x/sync/errgroup"
	"google.golang.org/grpc"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/config"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/service"
)

// serveCommand serves until it is told to stop.
type serveCommand struct {
	config.Serve `embed:""`
}

// Run serves.
func (c serveCommand) Run(ctx context.Context, std streams) error {
	server, err := c.Resolve()
	if err != nil {
		return usageError{fmt.Errorf("the configuration cannot be served:\n%w", err)}
	}
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGTERM, syscall.SIGINT)
	defer stop()
	// A second signal ends the process at once.
	context.AfterFunc(ctx, stop)
	return serve(ctx, server, ops.NewLogger(std.err, server.LogLevel))
}

// servers are the three of one process.
type servers struct {
	config  *config.Server
	log     *slog.Logger
	health  *ops.Health
	service *service.Server
	grpc    *grpc.Server
	http    *http.Server
	admin   *http.Server
}

// serve serves until the context ends, and drains.
func serve(ctx context.Context, c *config.Server, log *slog.Logger) error {
	s, err := build(c, log)
	if err != nil {
		return err
	}
	listeners, err := listen(ctx, c.GRPCAddress, c.HTTPAddress, c.AdminAddress)
	if err != nil {
		return err
	}
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error { return s.grpc.Serve(listeners[0]) })
	group.Go(func() error { return serveHTTP(s.http, listeners[1]) })
	group.Go(func() error { return serveHTTP(s.admin, listeners[2]) })
	group.Go(func() error {
		<-ctx.Done()
		s.drain()
		return nil
	})
	s.health.Serve()
	log.Info("serving",
		"version", version(), "protocol", c.Protocols[0].ID+"|"+c.Protocols[0].Version,
		"grpc", listeners[0].Addr().String(), "http", listeners[1].Addr().String(), "admin", listeners[2].Addr().String())
	err = group.Wait()
	log.Info("stopped")
	return err
}

// build puts the servers together.
func build(c *config.Server, log *slog.Logger) (*servers, error) {
	registry := prometheus.NewRegistry()
	watch := ops.NewWatch(ops.NewMetrics(registry, version(), c.Protocols), log)
	health := ops.NewHealth(evenreachv1.AssessmentService_ServiceDesc.ServiceName)
	server := service.New(newPipeline(c.Protocols, c.Codes), watch, c.MaxConcurrent)
	handler, err := server.Handler()
	if err != nil {
		return nil, err
	}
	return &servers{
		config:  c,
		log:     log,
		health:  health,
		service: server,
		grpc:    server.GRPC(health.GRPC()),
		http:    service.NewHTTPServer(handler, log),
		admin:   service.NewHTTPServer(ops.Admin(registry, health), log),
	}, nil
}

// listen opens every address, or none.
func listen(ctx context.Context, addresses ...string) ([]net.Listener, error) {
	var (
		listeners []net.Listener
		problems  []error
	)
	for _, address := range addresses {
		l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", address)
		if err != nil {
			problems = append(problems, err)
			continue
		}
		listeners = append(listeners, l)
	}
	if err := errors.Join(problems...); err != nil {
		for _, l := range listeners {
			_ = l.Close() // it served nobody
		}
		return nil, err
	}
	return listeners, nil
}

func serveHTTP(s *http.Server, l net.Listener) error {
	if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// drain stops in the order in which nobody is turned away: say so, go on
// serving until no caller is sent here any more, end the streams, finish what
// is running, and close the operator's port last.
func (s *servers) drain() {
	s.log.Info("draining", "timeout", s.config.DrainTimeout.String())
	ctx, cancel := context.WithTimeout(context.Background(), s.config.DrainTimeout)
	defer cancel()
	s.health.Drain()
	time.Sleep(s.config.DrainDelay)
	s.service.Drain()

	var group errgroup.Group
	group.Go(func() error { return stopGRPC(ctx, s.grpc) })
	group.Go(func() error { return stopHTTP(ctx, s.http) })
	if err := group.Wait(); err != nil {
		s.log.Warn("requests were cut off at the end of the drain", "error", err.Error())
	}
	_ = s.admin.Close() // a scrape can be repeated
}

// stopGRPC waits for running RPCs, at most until the context ends.
func stopGRPC(ctx context.Context, g *grpc.Server) error {
	done := make(chan struct{})
	go func() {
		g.GracefulStop()
		close(done)
	}()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		g.Stop()
		<-done
		return ctx.Err()
	}
}

// stopHTTP waits for running requests, at most until the context ends.
func stopHTTP(ctx context.Context, s *http.Server) error {
	if err := s.Shutdown(ctx); err != nil {
		_ = s.Close() // of what Shutdown left
		return err
	}
	return nil
}
