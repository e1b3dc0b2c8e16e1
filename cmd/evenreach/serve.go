package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os/signal"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"golang.org/x/sync/errgroup"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"

	"evenreach.example/internal/audit"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/config"
	"evenreach.example/internal/mllp"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/program"
	"evenreach.example/internal/queue"
	"evenreach.example/internal/service"
)

// serveCommand serves until it is told to stop.
type serveCommand struct {
	config.Serve
}

// Run serves.
func (c serveCommand) Run(ctx context.Context, std program.Streams) error {
	server, err := c.Resolve()
	if err != nil {
		return program.UsageError(fmt.Errorf("the configuration cannot be served:\n%w", err))
	}
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGTERM, syscall.SIGINT)
	defer stop()
	// A second signal ends the process at once.
	context.AfterFunc(ctx, stop)
	// A reader of the log that is gone must not end the process, which is what
	// Go does when a write to the standard streams finds no reader.
	signal.Ignore(syscall.SIGPIPE)
	lines := ops.NewLogWriter(std.Err)
	defer lines.Close()
	return serve(ctx, server, lines)
}

// servers are the three of one process.
type servers struct {
	config  *config.Server
	log     *slog.Logger
	watch   *ops.Watch
	health  *ops.Health
	callers *auth.Authenticator     // nil to let in everybody
	clients *auth.HookAuthenticator // of CDS Hooks; nil to let in everybody, or nobody
	keys    *ops.AuthMetrics
	trail   *audit.Trail // nil for none
	service *service.Server
	grpc    *grpc.Server
	http    *http.Server
	admin   *http.Server
	mllp    *mllp.Server // nil for none
	traces  *ops.Traces  // nil for none
	queue   *queue.Queue // of those of whom notifications come; nil for none

	stopQueue func(context.Context)

	restConns, rpcConns *ops.ConnectionMetrics
}

// serve serves until the context ends, and drains.
func serve(ctx context.Context, c *config.Server, lines *ops.LogWriter) error {
	s, err := build(c, lines)
	if err != nil {
		return err
	}
	addresses := []string{c.GRPCAddress, c.HTTPAddress, c.AdminAddress}
	if s.mllp != nil {
		addresses = append(addresses, c.MLLPAddress)
	}
	listeners, err := listen(ctx, addresses...)
	if err != nil {
		s.closeTraces(ctx)
		return err
	}
	stopKeys := s.renewKeys(ctx)
	stopReloads := s.reloadOnChange(ctx)
	s.stopQueue = s.workOffQueue(ctx)
	group, ctx := errgroup.WithContext(ctx)
	group.Go(func() error {
		return s.grpc.Serve(service.LimitConnections(listeners[0], c.MaxConnections, s.rpcConns))
	})
	group.Go(func() error {
		return serveHTTP(s.http, service.LimitConnections(listeners[1], c.MaxConnections, s.restConns))
	})
	group.Go(func() error { return serveHTTP(s.admin, listeners[2]) })
	if s.mllp != nil {
		group.Go(func() error { return s.mllp.Serve(listeners[3]) })
		s.log.Info("taking messages over MLLP", "mllp", listeners[3].Addr().String())
	}
	group.Go(func() error {
		if s.keysAreThere(ctx) {
			s.health.Serve(true)
			s.log.Info("serving",
				"version", program.Version(), "protocol", c.Protocols[0].ID+"|"+c.Protocols[0].Version,
				"grpc", listeners[0].Addr().String(), "http", listeners[1].Addr().String(), "admin", listeners[2].Addr().String())
		}
		follow(ctx, s.health, s.usable)
		s.drain()
		return nil
	})
	err = group.Wait()
	stopKeys()
	stopReloads()
	s.watch.Close()
	if s.trail != nil {
		s.trail.Close()
	}
	s.log.Info("stopped")
	return err
}

// build puts the servers together.
func build(c *config.Server, lines *ops.LogWriter) (*servers, error) {
	log := ops.NewLogger(lines, c.LogLevel)
	registry := prometheus.NewRegistry()
	ops.RegisterDropped(registry, lines)
	for _, a := range c.Authorities {
		a.Log(log)
	}
	watch := ops.NewWatch(ops.NewMetrics(registry, program.Version(), c.Protocols), log)
	watch.LogPeers(c.LogPeer)
	health := ops.NewHealth(service.Name)
	s := &servers{config: c, log: log, watch: watch, health: health, keys: ops.NewAuthMetrics(registry)}
	ops.RegisterReloads(registry, s.reloads())
	if err := s.trace(watch); err != nil {
		return nil, err
	}
	if c.Audit != nil {
		s.trail = audit.New(*c.Audit, program.Version(), registry)
	}
	pipeline := program.Pipeline(c.Protocols, c.Codes)
	pipeline.Words = c.Words
	s.service = service.New(pipeline, watch, s.authenticator(), s.doors())
	s.service.LoadFirst(c.Content)
	s.serveMessages()
	s.serveHooks()
	if err := s.serveRecord(registry); err != nil {
		return nil, err
	}
	if l := c.Launch; l != nil {
		s.service.ServeLaunch(*l)
		log.Info("records may launch the worksheet", "issuers", len(l.Issuers))
	}
	handler, err := s.service.Handler()
	if err != nil {
		return nil, err
	}
	s.grpc = s.service.GRPC(health.GRPC(), s.credentials(registry)...)
	s.http = s.service.HTTPServer(service.NewHTTPServer(handler, watch.ServerLog()), s.secure())
	s.admin = service.NewHTTPServer(ops.Admin(registry, health), watch.ServerLog())
	s.restConns, s.rpcConns = ops.NewConnectionMetrics(registry)
	return s, nil
}

// secure is the configuration of TLS for REST; nil for none.
func (s *servers) secure() *tls.Config {
	if s.config.Certificates == nil {
		return nil
	}
	return s.config.Certificates.Config()
}

// doors is the configuration of gRPC and REST. The audience of tokens is the address
// that callers use, also where a proxy stands before the service.
func (s *servers) doors() service.Config {
	c := service.Config{
		MaxConcurrent:    s.config.MaxConcurrent,
		MaxConnections:   s.config.MaxConnections,
		MaxConnectionAge: s.config.MaxConnectionAge,
		Processors:       processors(debug.SetMemoryLimit(-1), runtime.GOMAXPROCS(0)),
		Reflection:       s.config.Reflection,
		TokenEndpoint:    s.config.TokenEndpoint,
		Fairness:         s.config.Fairness,
		Trail:            s.trail,
		Operations:       s.config.Operations,
		Callers:          s.keys,
	}
	if s.config.Tokens != nil {
		c.Base = strings.TrimSuffix(s.config.Tokens.Audience, "/")
	}
	return c
}

// serveMessages makes the service answer messages of HL7 version 2, over HTTP and MLLP.
func (s *servers) serveMessages() {
	if s.config.V2 == nil {
		return
	}
	s.service.ServeV2(*s.config.V2)
	if s.config.MLLPAddress == "" {
		return
	}
	s.mllp = s.service.MLLP()
	if s.config.Certificates != nil {
		s.mllp.TLS = s.config.Certificates.Config()
	}
}

// serveHooks makes the service answer CDS Hooks.
func (s *servers) serveHooks() {
	c := s.config.Hooks
	if c == nil {
		return
	}
	h := service.Hooks{Fetcher: c.Fetcher, Origins: c.Origins}
	if c.Clients != nil {
		s.clients = auth.NewHooks(*c.Clients, s.keys, s.log)
		h.Clients = s.clients
	}
	s.service.ServeHooks(h)
}

// serveRecord makes the service ask the configured record, and take its notifications.
func (s *servers) serveRecord(registry *prometheus.Registry) (err error) {
	c := s.config.Record
	if c == nil {
		return nil
	}
	r := service.Record{Client: c.Client}
	if c.Queue != nil {
		if s.queue, err = queue.Open(*c.Queue); err != nil {
			return err
		}
		ops.RegisterQueue(registry, s.queue.Len, s.queue.Oldest)
		r.Queue = s.queue
	}
	if c.Secrets != "" {
		r.Senders = auth.SecretsFile{Path: c.Secrets, Metrics: s.keys}
	}
	s.service.ServeRecord(r)
	return nil
}

// workOffQueue assesses those of whom notifications came. When it is stopped it assesses at once whoever still waits,
// until a context ends; what is left then is on disk, if the queue has a folder, and else lost.
func (s *servers) workOffQueue(ctx context.Context) (stop func(context.Context)) {
	if s.queue == nil {
		return func(context.Context) {}
	}
	ctx, cancel := context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.service.RunQueue(ctx)
	}()
	return func(until context.Context) {
		s.queue.Close()
		select {
		case <-done:
		case <-until.Done():
			s.log.Warn("notifications were not worked off at the end of the drain", "patients", s.queue.Len())
		}
		cancel()
		<-done
	}
}

// trace begins to send traces, if there is a place for them.
func (s *servers) trace(watch *ops.Watch) (err error) {
	if s.config.Traces == nil {
		return nil
	}
	if s.traces, err = ops.NewTraces(*s.config.Traces, program.Version(), s.log); err != nil {
		return err
	}
	watch.Trace(s.traces.Provider())
	return nil
}

// closeTraces sends the last traces.
func (s *servers) closeTraces(ctx context.Context) {
	if s.traces != nil {
		s.traces.Close(ctx)
	}
}

// authenticator is who says who asks.
func (s *servers) authenticator() service.Authenticator {
	if s.config.Tokens == nil {
		s.log.Warn("there is no authentication: everybody on this machine is let in")
		return auth.Anyone{}
	}
	s.callers = auth.New(*s.config.Tokens, s.keys, s.log)
	return s.callers
}

// credentials are the options of gRPC for TLS.
func (s *servers) credentials(registry *prometheus.Registry) []grpc.ServerOption {
	certificates := s.config.Certificates
	if certificates == nil {
		s.log.Warn("there is no TLS: what is sent can be read on its way, unless a proxy or the network sees to it")
		return nil
	}
	certificates.Log(s.log)
	ops.RegisterExpiry(registry, certificates.Expiry)
	return []grpc.ServerOption{grpc.Creds(credentials.NewTLS(certificates.Config()))}
}

// renewKeys keeps the issuers' keys until it is stopped, which is after the
// last request that may need them.
func (s *servers) renewKeys(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(context.WithoutCancel(ctx))
	var running sync.WaitGroup
	if s.callers != nil {
		running.Go(func() { s.callers.Run(ctx) })
	}
	if s.clients != nil {
		running.Go(func() { s.clients.Run(ctx) })
	}
	return func() {
		cancel()
		running.Wait()
	}
}

// keysAreThere waits for the keys of an issuer, without which nobody could be
// let in.
func (s *servers) keysAreThere(ctx context.Context) bool {
	if s.callers == nil {
		return true
	}
	select {
	case <-s.callers.Ready():
		return true
	case <-ctx.Done():
		return false
	}
}

// keysInterval is how often it is looked whether keys are still there: often enough for
// the kubelet, which asks for readiness every 2 s (deploy/kubernetes/base).
const keysInterval = time.Second

// follow takes readiness away while nobody can be let in, until the context ends:
// another replica may have keys.
func follow(ctx context.Context, health *ops.Health, usable func() bool) {
	tick := time.NewTicker(keysInterval)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			health.Serve(usable())
		}
	}
}

// usable reports whether somebody can be let in.
func (s *servers) usable() bool { return s.callers == nil || s.callers.Usable() }

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
	serve := s.Serve
	if s.TLSConfig != nil {
		serve = func(l net.Listener) error { return s.ServeTLS(l, "", "") }
	}
	if err := serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// drain stops in the order in which nobody is turned away: say so, go on
// serving, each connection for one more answer, until no caller is sent here any more, end the streams, finish what
// is running, send its traces, and close the operator's port last.
func (s *servers) drain() {
	s.log.Info("draining", "timeout", s.config.DrainTimeout.String())
	ctx, cancel := context.WithTimeout(context.Background(), s.config.DrainTimeout)
	defer cancel()
	s.health.Drain()
	s.service.Leave()
	time.Sleep(s.config.DrainDelay)
	s.service.Drain()

	var group errgroup.Group
	group.Go(func() error { return stopGRPC(ctx, s.grpc) })
	group.Go(func() error { return stopHTTP(ctx, s.http) })
	if s.mllp != nil {
		group.Go(func() error { return s.mllp.Shutdown(ctx) })
	}
	if err := group.Wait(); err != nil {
		s.log.Warn("requests were cut off at the end of the drain", "error", err.Error())
	}
	s.stopQueue(ctx)
	s.closeTraces(ctx)
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
