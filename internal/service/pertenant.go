package service

import "sync"

// A perTenant is state of which each tenant has its own, so that none sees, or pushes out, what another left. The names are
// configured, and so few.
type perTenant[T any] struct {
	create func(tenant string) T
	mu     sync.Mutex
	all    map[string]T
}

func newPerTenant[T any](create func(tenant string) T) *perTenant[T] {
	return &perTenant[T]{create: create, all: map[string]T{}}
}

// of is the state of a tenant.
func (p *perTenant[T]) of(tenant string) T {
	p.mu.Lock()
	defer p.mu.Unlock()
	if _, known := p.all[tenant]; !known {
		p.all[tenant] = p.create(tenant)
	}
	return p.all[tenant]
}
