package program

import (
	"time"

	"evenreach.example/internal/intake"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// Pipeline is the pipeline of the server, of a file and of an export alike.
func Pipeline(protocols service.Protocols, codes *intake.CodeMap) *service.Pipeline {
	return &service.Pipeline{
		Protocols: protocols,
		Codes:     codes,
		Words:     wording.For("en"),
		Version:   Version(),
		Now:       time.Now,
	}
}
