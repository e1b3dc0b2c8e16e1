package record

import (
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/shoulder"
)

// referenceRewriter turns references to the caller's resources into ones that hold in an
// answer.
type referenceRewriter struct {
	// base is the URL of the server that the inputs came from, if the answer may use
	// relative references: the inputs referred to the patient by one, and none came from
	// another server. A record then resolves every reference, whatever its own address is.
	base string
}

func newReferenceRewriter(reading *intake.Reading) (o referenceRewriter) {
	subject := reading.Subject.Reference
	if subject == "" || isURN(subject) || baseOf(subject) != "" {
		return o
	}
	for i := range reading.Sources {
		base := baseOf(reading.Sources[i].Reference.Reference)
		switch {
		case base == "":
		case o.base == "":
			o.base = base
		case o.base != base:
			return referenceRewriter{}
		}
	}
	return o
}

// reference is a reference of the caller in the form for an answer. A urn can be followed
// only inside the Bundle that was sent, so it becomes a logical reference: by the business
// identifier if one is known, else by the urn. An address that names another type is left
// out, because no record would accept the answer with it.
func (o referenceRewriter) reference(r fhir.Reference, typeName string) fhir.Reference {
	if namesOther(r.Reference, typeName) {
		r.Reference = ""
	}
	switch {
	case r.Reference == "":
		r.TypeName = typeName
		return r
	case !isURN(r.Reference):
		if o.base != "" && baseOf(r.Reference) == o.base {
			r.Reference = r.Reference[len(o.base):]
		}
		return r
	}
	id := r.Identifier
	if id == nil {
		id = &fhir.Identifier{System: fhir.SystemURI, Value: r.Reference}
	}
	return fhir.Reference{TypeName: typeName, Identifier: id, Display: r.Display}
}

func (o referenceRewriter) references(references []fhir.Reference, typeName string) []fhir.Reference {
	all := make([]fhir.Reference, 0, len(references))
	for _, r := range references {
		if r = o.reference(r, typeName); r.Reference != "" || r.Identifier != nil {
			all = append(all, r)
		}
	}
	return all
}

func isURN(reference string) bool { return strings.HasPrefix(reference, "urn:") }

// baseOf is the base of the server in an absolute RESTful reference such as
// https://record.example/fhir/Observation/1, empty for any other.
func baseOf(reference string) string {
	if !strings.HasPrefix(reference, "http://") && !strings.HasPrefix(reference, "https://") {
		return ""
	}
	base, _, _, _ := lexical.SplitReference(reference)
	return base
}

// namesOther reports whether a RESTful reference, such as Patient/1, is to another type
// than the given one.
func namesOther(reference, typeName string) bool {
	_, named, _, ok := lexical.SplitReference(lexical.WithoutVersion(reference))
	return ok && named != typeName
}

// subject refers to the patient. FHIR asks every plan and goal for one, so a
// patient who was sent without id, fullUrl and identifier is named by display.
func (o referenceRewriter) subject(r fhir.Reference) *fhir.Reference {
	r = o.reference(r, "Patient")
	if r.Reference == "" && r.Identifier == nil {
		r.Display = "Patient"
	}
	return &r
}

// encounter refers to the Encounter, nil if the reference is to something else.
func (o referenceRewriter) encounter(r *fhir.Reference) *fhir.Reference {
	if r == nil || namesOther(r.Reference, "Encounter") {
		return nil
	}
	out := o.reference(*r, "Encounter")
	return &out
}

// inputs are the references to the inputs, by source.
type inputs struct {
	sources    []intake.Source
	references []fhir.Reference
	// first is the first source with the same reference: several sources may come from one
	// resource.
	first []shoulder.SourceID
	// listedIn is the number of the list in which a source was last included.
	listedIn []int
	round    int
}

func newInputs(sources []intake.Source, out referenceRewriter) inputs {
	in := inputs{
		sources:    sources,
		references: make([]fhir.Reference, len(sources)),
		first:      make([]shoulder.SourceID, len(sources)),
		listedIn:   make([]int, len(sources)),
	}
	known := make(map[string]shoulder.SourceID, len(sources))
	for i := range sources {
		id := shoulder.SourceID(i)
		in.references[i] = out.reference(sources[i].Reference, sources[i].Kind)
		first, found := known[sources[i].Path]
		if !found {
			first, known[sources[i].Path] = id, id
		}
		in.first[i] = first
		if r := &in.references[i]; r.Reference == "" && r.Identifier == nil {
			r.Display = sources[i].Received // nothing else identifies it
		}
	}
	return in
}

// measured lists references to the Observations among the sources, each once. An
// Observation can be derived from nothing else, such as a Procedure.
func (in *inputs) measured(lists ...[]shoulder.SourceID) []fhir.Reference {
	return in.measuredBeside(nil, lists)
}

// measuredBeside is measured without what stands in the known lists.
func (in *inputs) measuredBeside(known, lists [][]shoulder.SourceID) []fhir.Reference {
	in.round++
	for _, ids := range known {
		for _, id := range ids {
			in.markListed(id)
		}
	}
	n := 0
	for _, ids := range lists {
		n += len(ids)
	}
	references := make([]fhir.Reference, 0, n)
	for _, ids := range lists {
		for _, id := range ids {
			if in.markListed(id) && in.sources[id].Kind == "Observation" {
				references = append(references, in.references[id])
			}
		}
	}
	return references
}

// markListed marks the resource of a source as listed, and reports whether it was not in
// this list before.
func (in *inputs) markListed(id shoulder.SourceID) bool {
	if id < 0 || int(id) >= len(in.sources) || in.listedIn[in.first[id]] == in.round {
		return false
	}
	in.listedIn[in.first[id]] = in.round
	return true
}
