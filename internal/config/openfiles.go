package config

import "evenreach.example/internal/mllp"

// openFiles is how many files the process has open beside its connections: the log,
// connections to issuers, collectors and the record, files of the configuration, what the
// runtime needs. Ours: measured 12 at rest, and room.
const openFiles = 64

// enoughFiles reports a limit of open files that the connections would pass. A process
// that meets it accepts nobody any more, probes included.
func (r *resolver) enoughFiles(s *Server) {
	needed := uint64(2*s.MaxConnections + openFiles)
	if s.MLLPAddress != "" {
		needed += uint64(mllp.DefaultLimits.Connections)
	}
	if allowed := maxOpenFiles(); allowed < needed {
		r.report("max-connections", "found %d for each of gRPC and REST, and %d files that the process may have open; expected %d of these at least, or fewer connections",
			s.MaxConnections, allowed, needed)
	}
}
