package intake

import (
	"cmp"
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// patient is the one patient that the input is about.
type patient struct {
	entry       *entry // the Patient resource, nil if it was not sent
	unreadable  bool   // a Patient resource was sent that could not be decoded
	key         string // with the base of the server, if any reference has one
	identifiers map[fhir.Identifier]string
}

// subjectKind says what a resource is about.
type subjectKind uint8

const (
	subjectUnknown subjectKind = iota // no subject, or one that cannot be told apart
	subjectPatient                    // a patient
	subjectOther                      // a device, a group, a place
)

// patientMention is a reference to a patient, and where it stands.
type patientMention struct {
	key  string
	base pathBase
	in   string // element
}

// identifyPatient finds the one patient, or refuses the input. References to one patient
// may be absolute, relative, urn, by identifier, or contained.
func (r *reader) identifyPatient(entries []entry) bool {
	mentions := r.patientResources(entries)
	r.learnIdentifiers(entries)
	mentions = mergeRelative(r.subjects(entries, mentions))
	if len(mentions) > 1 {
		m := mentions[1]
		r.refuse(fault.SeveralPatients, m.base.path(m.in), "a second patient; expected every resource to be about the same one")
		return false
	}
	if len(mentions) == 0 && anyObservation(entries) {
		r.refuse(fault.RequiredMissing, r.root, "no patient; expected one Patient, or Observations that name one in subject")
		return false
	}
	if len(mentions) == 1 {
		r.patient.key = mentions[0].key
	}
	return true
}

// subjects adds the patients that are referred to as a subject, each once, to
// those that are mentioned already.
func (r *reader) subjects(entries []entry, mentions []patientMention) []patientMention {
	known := keysOf(mentions)
	for i := range entries {
		e := &entries[i]
		key, about := r.patientKey(fhir.SubjectOf(e.resource), e)
		if about == subjectPatient && !known[key] {
			known[key] = true
			mentions = append(mentions, patientMention{key, e.pathBase(), "subject"})
		}
	}
	return mentions
}

// keysOf is the set of the keys of the mentions.
func keysOf(mentions []patientMention) map[string]bool {
	keys := make(map[string]bool, len(mentions))
	for _, m := range mentions {
		keys[m.key] = true
	}
	return keys
}

// patientResources lists a mention of each Patient resource, and learns its identifiers.
func (r *reader) patientResources(entries []entry) (mentions []patientMention) {
	r.patient.identifiers = map[fhir.Identifier]string{}
	for i := range entries {
		e := &entries[i]
		if _, ok := e.resource.(*fhir.Patient); !ok {
			continue
		}
		key := cmp.Or(e.target().key, e.path())
		r.learn(e.common.Identifier, key)
		mentions = append(mentions, patientMention{key: key, base: e.pathBase()})
		r.patient.entry = e
	}
	return r.unreadablePatients(mentions)
}

// unreadablePatients adds a mention of each Patient resource that could not be decoded if
// there is another patient, from whom it may differ. The only Patient need not be
// readable: the subjects of the other resources tell who it is.
func (r *reader) unreadablePatients(mentions []patientMention) []patientMention {
	known, sent := keysOf(mentions), len(mentions) > 0
	for _, e := range r.lostEntries {
		if _, ok := e.resource.(*fhir.Patient); !ok {
			continue
		}
		r.patient.unreadable = true
		key := e.target().key
		if sent && key != "" && !known[key] {
			known[key] = true
			mentions = append(mentions, patientMention{key: key, base: e.pathBase()})
		}
	}
	return mentions
}

// learnIdentifiers collects the identifiers that stand beside an address, or in a
// contained Patient, so that a reference by identifier alone is known to mean the same
// patient.
func (r *reader) learnIdentifiers(entries []entry) {
	for i := range entries {
		e := &entries[i]
		subject := fhir.SubjectOf(e.resource)
		if subject == nil {
			continue
		}
		contained := isContained(subject.Reference)
		if !contained && (subject.Reference == "" || subject.Identifier == nil) {
			continue
		}
		key, about := r.patientKey(subject, e)
		if about != subjectPatient {
			continue
		}
		if subject.Identifier != nil {
			r.learn([]fhir.Identifier{*subject.Identifier}, key)
		}
		if contained {
			r.learn(fhir.CommonOf(e.containedResource(subject.Reference)).Identifier, key)
		}
	}
}

// maxIdentifiers bounds the identifiers that are learnt, of which one patient has a few.
// An identifier beyond them can only make the input be refused, because it is not certain
// to be the same patient's.
//
// Source: ours.
const maxIdentifiers = 20_000

func (r *reader) learn(identifiers []fhir.Identifier, key string) {
	for _, id := range identifiers {
		if len(r.patient.identifiers) >= maxIdentifiers {
			return
		}
		if _, known := r.patient.identifiers[id]; !known && id.Value != "" {
			r.patient.identifiers[id] = key
		}
	}
}

// patientKey tells what a subject refers to, and the key of a patient.
func (r *reader) patientKey(subject *fhir.Reference, from *entry) (string, subjectKind) {
	switch {
	case subject == nil:
		return "", subjectUnknown
	case isContained(subject.Reference):
		return r.containedKey(subject.Reference, from)
	case subject.Reference != "":
		t := r.resolve(&r.caches.subjects, subject.Reference, from)
		if typeName := cmp.Or(t.typeName, subject.TypeName, "Patient"); typeName != "Patient" {
			return "", subjectOther
		}
		return t.key, subjectPatient
	case subject.Identifier == nil || subject.Identifier.Value == "":
		return "", subjectUnknown
	case cmp.Or(subject.TypeName, "Patient") != "Patient":
		return "", subjectOther
	}
	return r.identifierKey(*subject.Identifier), subjectPatient
}

// containedKey is the key of a contained patient, by its identifiers. Without any it has
// no key, because each resource may contain another person.
func (r *reader) containedKey(reference string, from *entry) (string, subjectKind) {
	resource := from.containedResource(reference)
	if resource == nil {
		return "", subjectUnknown
	}
	contained, ok := resource.(*fhir.Patient)
	if !ok {
		return "", subjectOther
	}
	for _, id := range contained.Identifier {
		if key, known := r.patient.identifiers[id]; known {
			return key, subjectPatient
		}
	}
	id := firstIdentifier(contained.Identifier)
	if id.Value == "" {
		return "", subjectUnknown
	}
	return r.identifierKey(id), subjectPatient
}

func (r *reader) identifierKey(id fhir.Identifier) string {
	if key, known := r.patient.identifiers[id]; known {
		return key
	}
	return id.System + "|" + id.Value
}

// mergeRelative treats a relative reference as the absolute one that ends in it, because
// the base of the server is not always sent. Two absolute references remain two.
func mergeRelative(mentions []patientMention) []patientMention {
	tails := map[string]bool{} // of absolute references
	for _, m := range mentions {
		if t := tail(m.key); t != m.key {
			tails[t] = true
		}
	}
	return slices.DeleteFunc(mentions, func(m patientMention) bool { return tails[m.key] })
}

func anyObservation(entries []entry) bool {
	return slices.ContainsFunc(entries, func(e entry) bool {
		_, ok := e.resource.(*fhir.Observation)
		return ok
	})
}

// belongs reports whether a resource is the patient's. One without a subject is
// taken as the patient's only if the Patient was sent along.
func (r *reader) belongs(e *entry) bool {
	subject := fhir.SubjectOf(e.resource)
	switch _, about := r.patientKey(subject, e); about {
	case subjectPatient:
		return true
	case subjectOther:
		r.warn(e.pathBase(), "subject", fault.PatientOther, "the subject is not the patient; expected a reference to the Patient", "")
		return false
	}
	if r.patient.entry == nil || r.patient.unreadable {
		r.warn(e.pathBase(), "", fault.RequiredMissing, "subject missing, and not exactly one Patient was sent that can be read; expected one of them", "")
		return false
	}
	if subject != nil && subject.Reference == "" && r.isOtherName(subject.Display) {
		r.warn(e.pathBase(), "subject.display", fault.PatientOther, "the subject has another name than the Patient; not used; expected a reference to the Patient", "")
		return false
	}
	r.note(e.pathBase(), "", fault.RequiredMissing, "subject missing; taken as the only Patient's", "")
	return true
}

// isOfAnother reports whether the focus of an Observation is something else than its
// subject, such as a donor, an unborn child or a device, and adds an issue if so. The
// focus of a statement may be what it is about, unless that is another patient.
func (r *reader) isOfAnother(f *finding, focus []fhir.Reference) bool {
	for i := range focus {
		if r.isPatient(&focus[i], f.entry) || !f.inSession() && r.typeOf(&r.caches.focuses, &focus[i], f.entry) != "Patient" {
			continue
		}
		r.warn(f.pathBase(), indexed("focus", i), fault.PatientOther, "what was observed is not the patient, or cannot be told; expected no focus, or a reference to the Patient", "")
		return true
	}
	return false
}

// isPatient reports whether a reference is to the patient, with or without the base of the
// server.
func (r *reader) isPatient(ref *fhir.Reference, from *entry) bool {
	key, about := r.patientKey(ref, from)
	return about == subjectPatient && (key == r.patient.key || key == tail(r.patient.key) || tail(key) == r.patient.key)
}
