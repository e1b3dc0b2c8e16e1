package main

import (
	"context"
	"crypto/sha256"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"evenreach.example/internal/ops"
)

// reloadInterval is how often it is looked whether protocol, code map or tenants have changed. Ours: as
// for certificates.
const reloadInterval = 5 * time.Second

// reloadOnChange takes up a changed protocol, code map or tenants file, when a file has changed or at
// SIGHUP, until it is stopped. If anything is wrong with any, all stay as they were.
func (s *servers) reloadOnChange(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(context.WithoutCancel(ctx))
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, syscall.SIGHUP)
	var running sync.WaitGroup
	running.Go(func() { s.followFiles(ctx, asked, digestOf(s.config.Reloaded())) })
	return func() {
		signal.Stop(asked)
		cancel()
		running.Wait()
	}
}

// followFiles reloads until the context ends. The digest is that of the files as they were read.
func (s *servers) followFiles(ctx context.Context, asked <-chan os.Signal, read [sha256.Size]byte) {
	tick := time.NewTicker(reloadInterval)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-asked:
		case <-tick.C:
			if digestOf(s.config.Reloaded()) == read {
				continue
			}
		}
		read = digestOf(s.config.Reloaded())
		s.reload()
	}
}

// reload reads protocol, code map and tenants again.
func (s *servers) reload() {
	content, err := s.config.Reload()
	if err != nil {
		s.watch.ReloadRefused(err)
		return
	}
	s.service.Load(content)
	chosen := content.Protocols[0]
	s.log.Info("protocol, code map and tenants read", "protocol", chosen.ID+"|"+chosen.Version, "digest", chosen.Digest())
}

// reloads tells of each kind of configuration that is read again what became of that: of protocol, code map and
// tenants together, of the certificate, and of authorities by the option that names their file.
func (s *servers) reloads() map[string]func() ops.Reload {
	kinds := map[string]func() ops.Reload{"protocol": s.watch.LastReload}
	if s.config.Certificates != nil {
		kinds["certificate"] = s.config.Certificates.LastReload
	}
	for option, a := range s.config.Authorities {
		kinds[option] = a.LastReload
	}
	return kinds
}

// digestOf digests what files hold; one that cannot be read holds nothing.
func digestOf(files []string) (sum [sha256.Size]byte) {
	h := sha256.New()
	for _, file := range files {
		text, _ := os.ReadFile(file) // Reload says what is wrong
		inner := sha256.Sum256(text)
		h.Write(inner[:]) // a hash never fails
	}
	h.Sum(sum[:0])
	return sum
}
