package fhir

import "evenreach.example/internal/slab"

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
