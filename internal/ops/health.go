package ops

import (
	"sync"

	"google.golang.org/grpc/health"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
)

// Health says whether requests are taken: by the standard gRPC health service,
// and to the admin port. It starts out not ready.
type Health struct {
	grpc     *health.Server
	services []string

	mu      sync.Mutex
	ready   bool
	drained bool
}

// NewHealth returns the health of a server with the given gRPC services.
func NewHealth(services ...string) *Health {
	h := &Health{grpc: health.NewServer(), services: append(services, "")}
	h.tell(healthpb.HealthCheckResponse_NOT_SERVING)
	return h
}

// GRPC is the standard gRPC health service.
func (h *Health) GRPC() healthpb.HealthServer { return h.grpc }

// Serve says whether requests are taken, until Drain.
func (h *Health) Serve(taken bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.drained || h.ready == taken {
		return
	}
	h.ready = taken
	status := healthpb.HealthCheckResponse_NOT_SERVING
	if taken {
		status = healthpb.HealthCheckResponse_SERVING
	}
	h.tell(status)
}

// Drain says that requests should go elsewhere from now on; there is no way
// back. Requests that still come are answered.
func (h *Health) Drain() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ready, h.drained = false, true
	h.grpc.Shutdown()
}

// Ready reports whether requests are taken.
func (h *Health) Ready() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.ready
}

func (h *Health) tell(status healthpb.HealthCheckResponse_ServingStatus) {
	for _, service := range h.services {
		h.grpc.SetServingStatus(service, status)
	}
}
