package fhir

import (
	"evenreach.example/internal/slab"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

// slabs hold the wire structs of one Bundle, of which it has hundreds, and
// which live and die together.
type slabs struct {
	activities    slab.Slab[Activity]
	agents        slab.Slab[Agent]
	annotations   slab.Slab[Annotation]
	attachments   slab.Slab[Attachment]
	codings       slab.Slab[Coding]
	components    slab.Slab[Component]
	concepts      slab.Slab[CodeableConcept]
	details       slab.Slab[ActivityDetail]
	deviceNames   slab.Slab[DeviceName]
	entries       slab.Slab[Entry]
	extensions    slab.Slab[Extension]
	identifiers   slab.Slab[Identifier]
	metas         slab.Slab[Meta]
	narratives    slab.Slab[Narrative]
	outcomeIssues slab.Slab[OutcomeIssue]
	periods       slab.Slab[Period]
	quantities    slab.Slab[Quantity]
	ranges        slab.Slab[ReferenceRange]
	references    slab.Slab[Reference]
	requests      slab.Slab[Request]
	resources     slab.Slab[Resource]
	sources       slab.Slab[ProvenanceEntity]
	targets       slab.Slab[Target]
	texts         slab.Slab[string]
	versions      slab.Slab[DeviceVersion]
}

// messages hold the messages that an answer has hundreds of.
type messages struct {
	codes      slab.Slab[dpb.Code]
	codings    slab.Slab[dpb.Coding]
	components slab.Slab[opb.Observation_Component]
	concepts   slab.Slab[dpb.CodeableConcept]
	decimals   slab.Slab[dpb.Decimal]
	ids        slab.Slab[dpb.ReferenceId]
	quantities slab.Slab[dpb.Quantity]
	references slab.Slab[dpb.Reference]
	texts      slab.Slab[dpb.String]
	uris       slab.Slab[dpb.Uri]
}
