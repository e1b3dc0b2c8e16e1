package ops

import (
	"sync/atomic"

	"google.golang.org/grpc/health"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
)

// Health says whether requests are taken: by the standard gRPC health service,
// and to the admin port. It starts out not ready.
type Health struct {
	grpc     *health.Server
	services []string
	ready    atomic.Bool
}

// NewHealth returns the health of a server with the given gRPC services.
func NewHealth(services ...string) *Health {
	h := &Health{grpc: health.NewServer(), services: append(services, "")}
	h.set(healthpb.HealthCheckResponse_NOT_SERVING)
	return h
}

// GRPC is the standard gRPC health service.
func (h *Health) GRPC() healthpb.HealthServer { return h.grpc }

// Serve says that requests are taken.
func (h *Health) Serve() {
	h.set(healthpb.HealthCheckResponse_SERVING)
	h.ready.Store(true)
}

// Drain says that requests should go elsewhere from now on; there is no way
// back. Requests that still come are answered.
func (h *Health) Drain() {
	h.ready.Store(false)
	h.grpc.Shutdown()
}

// Ready reports whether requests are taken.
func (h *Health) Ready() bool { return h.ready.Load() }

func (h *Health) set(status healthpb.HealthCheckResponse_ServingStatus) {
	for _, service := range h.services {
		h.grpc.SetServingStatus(service, status)
	}
}
