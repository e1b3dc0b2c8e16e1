package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

// slabs hold the wire structs of one Bundle, of which it has hundreds, and
// which live and die together.
type slabs struct {
	activities    slab[Activity]
	agents        slab[Agent]
	annotations   slab[Annotation]
	attachments   slab[Attachment]
	codings       slab[Coding]
	components    slab[Component]
	concepts      slab[CodeableConcept]
	details       slab[ActivityDetail]
	deviceNames   slab[DeviceName]
	entries       slab[Entry]
	extensions    slab[Extension]
	identifiers   slab[Identifier]
	metas         slab[Meta]
	narratives    slab[Narrative]
	outcomeIssues slab[OutcomeIssue]
	periods       slab[Period]
	quantities    slab[Quantity]
	ranges        slab[ReferenceRange]
	references    slab[Reference]
	requests      slab[Request]
	resources     slab[Resource]
	sources       slab[ProvenanceEntity]
	targets       slab[Target]
	texts         slab[string]
	versions      slab[DeviceVersion]
}

// messages hold the messages that an answer has hundreds of.
type messages struct {
	codes      slab[dpb.Code]
	codings    slab[dpb.Coding]
	components slab[opb.Observation_Component]
	concepts   slab[dpb.CodeableConcept]
	decimals   slab[dpb.Decimal]
	ids        slab[dpb.ReferenceId]
	quantities slab[dpb.Quantity]
	references slab[dpb.Reference]
	texts      slab[dpb.String]
	uris       slab[dpb.Uri]
}

// A slab hands out structs from blocks, which cost one allocation each. The
// zero slab is ready for use.
type slab[T any] struct {
	free  []T
	block int // length of the latest block
}

// The lengths of the first and of the largest block: a small Bundle leaves
// little of its blocks unused, a large one allocates seldom.
const (
	firstBlock   = 4
	largestBlock = 32
)

// one hands out one zero struct.
func (s *slab[T]) one() *T { return &s.take(1)[0] }

// take hands out a list of n zero structs.
func (s *slab[T]) take(n int) []T {
	if n > len(s.free) {
		s.block = min(max(2*s.block, firstBlock), largestBlock)
		s.free = make([]T, max(s.block, n))
	}
	taken := s.free[:n:n]
	s.free = s.free[n:]
	return taken
}
