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
	unreadable  bool   // a Patient resource was sent that is not FHIR
	key         string // with the base of the server, if any reference has one
	identifiers map[fhir.Identifier]string
}

// belonging says whom a resource is about.
type belonging uint8

const (
	aboutNobody  belonging = iota // no subject, or one that cannot be told apart
	aboutPatient                  // a patient
	aboutOther                    // a device, a group, a place
)

// mention is where a patient is referred to.
type mention struct {
	key   string
	place place
	in    string // element
}

// identifyPatient finds the one patient, or refuses. A patient counts once
// however referred to: by absolute, relative or urn reference, by identifier,
// or contained.
func (r *reader) identifyPatient(entries []entry) bool {
	mentions := r.patientResources(entries)
	r.learnIdentifiers(entries)
	mentions = mergeRelative(r.subjects(entries, mentions))
	if len(mentions) > 1 {
		m := mentions[1]
		r.refuse(fault.SeveralPatients, m.place.at(m.in), "a second patient; expected every resource to be about the same one")
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
func (r *reader) subjects(entries []entry, mentions []mention) []mention {
	known := keysOf(mentions)
	for i := range entries {
		e := &entries[i]
		key, about := r.patientKey(fhir.SubjectOf(e.resource), e)
		if about == aboutPatient && !known[key] {
			known[key] = true
			mentions = append(mentions, mention{key, e.whole(), "subject"})
		}
	}
	return mentions
}

// keysOf is the set of the keys of what is mentioned.
func keysOf(mentions []mention) map[string]bool {
	keys := make(map[string]bool, len(mentions))
	for _, m := range mentions {
		keys[m.key] = true
	}
	return keys
}

// patientResources mentions the Patient resources, and learns their
// identifiers.
func (r *reader) patientResources(entries []entry) (mentions []mention) {
	r.patient.identifiers = map[fhir.Identifier]string{}
	for i := range entries {
		e := &entries[i]
		if _, ok := e.resource.(*fhir.Patient); !ok {
			continue
		}
		key := cmp.Or(e.thing().key, e.path())
		r.learn(e.common.Identifier, key)
		mentions = append(mentions, mention{key: key, place: e.whole()})
		r.patient.entry = e
	}
	return r.unreadablePatients(mentions)
}

// unreadablePatients mentions the Patient resources that are not FHIR, where another
// one is there that they may not be. The only one is not needed: the subjects of the
// other resources tell who it is.
func (r *reader) unreadablePatients(mentions []mention) []mention {
	known, sent := keysOf(mentions), len(mentions) > 0
	for _, e := range r.lost {
		if _, ok := e.resource.(*fhir.Patient); !ok {
			continue
		}
		r.patient.unreadable = true
		key := e.thing().key
		if sent && key != "" && !known[key] {
			known[key] = true
			mentions = append(mentions, mention{key: key, place: e.whole()})
		}
	}
	return mentions
}

// learnIdentifiers learns the identifiers of the patients that are referred to
// by address as well, or contained, so that a reference by identifier alone
// means the same patient.
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
		if about != aboutPatient {
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

// maxIdentifiers bounds the identifiers that are learnt, of which one patient has
// a few. More of them can only refuse what is not certainly one patient's.
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

// patientKey tells whom a subject means, and gives a patient's key.
func (r *reader) patientKey(subject *fhir.Reference, from *entry) (string, belonging) {
	switch {
	case subject == nil:
		return "", aboutNobody
	case isContained(subject.Reference):
		return r.containedKey(subject.Reference, from)
	case subject.Reference != "":
		t := r.resolve(&r.known.subjects, subject.Reference, from)
		if typeName := cmp.Or(t.typeName, subject.TypeName, "Patient"); typeName != "Patient" {
			return "", aboutOther
		}
		return t.key, aboutPatient
	case subject.Identifier == nil || subject.Identifier.Value == "":
		return "", aboutNobody
	case cmp.Or(subject.TypeName, "Patient") != "Patient":
		return "", aboutOther
	}
	return r.identifierKey(*subject.Identifier), aboutPatient
}

// containedKey tells a contained patient by its identifiers. Without any it is
// nobody in particular: each resource may contain another person.
func (r *reader) containedKey(reference string, from *entry) (string, belonging) {
	resource := from.containedResource(reference)
	if resource == nil {
		return "", aboutNobody
	}
	contained, ok := resource.(*fhir.Patient)
	if !ok {
		return "", aboutOther
	}
	for _, id := range contained.Identifier {
		if key, known := r.patient.identifiers[id]; known {
			return key, aboutPatient
		}
	}
	id := firstIdentifier(contained.Identifier)
	if id.Value == "" {
		return "", aboutNobody
	}
	return r.identifierKey(id), aboutPatient
}

func (r *reader) identifierKey(id fhir.Identifier) string {
	if key, known := r.patient.identifiers[id]; known {
		return key
	}
	return id.System + "|" + id.Value
}

// mergeRelative takes a relative reference for the absolute one that ends in
// it: the base of the server is not always sent. Two absolute ones remain two.
func mergeRelative(mentions []mention) []mention {
	tails := map[string]bool{} // of absolute references
	for _, m := range mentions {
		if t := tail(m.key); t != m.key {
			tails[t] = true
		}
	}
	return slices.DeleteFunc(mentions, func(m mention) bool { return tails[m.key] })
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
	case aboutPatient:
		return true
	case aboutOther:
		r.warn(e.whole(), "subject", fault.PatientOther, "the subject is not the patient; expected a reference to the Patient", "")
		return false
	}
	if r.patient.entry == nil || r.patient.unreadable {
		r.warn(e.whole(), "", fault.RequiredMissing, "subject missing, and not exactly one Patient was sent that can be read; expected one of them", "")
		return false
	}
	if subject != nil && subject.Reference == "" && r.isOtherName(subject.Display) {
		r.warn(e.whole(), "subject.display", fault.PatientOther, "the subject has another name than the Patient; not used; expected a reference to the Patient", "")
		return false
	}
	r.note(e.whole(), "", fault.RequiredMissing, "subject missing; taken as the only Patient's", "")
	return true
}

// isOfAnother reports, and says, that an Observation looks at something else
// than its subject: focus is there for a donor, an unborn child or a device. What
// is stated, and not measured, may point at what it is about, but for another
// patient.
func (r *reader) isOfAnother(f *finding, focus []fhir.Reference) bool {
	for i := range focus {
		if r.isPatient(&focus[i], f.entry) || !f.inSession() && r.typeOf(&r.known.focuses, &focus[i], f.entry) != "Patient" {
			continue
		}
		r.warn(f.place(), indexed("focus", i), fault.PatientOther, "what was observed is not the patient, or cannot be told; expected no focus, or a reference to the Patient", "")
		return true
	}
	return false
}

// isPatient reports whether a reference points at the patient, with or without
// the base of the server.
func (r *reader) isPatient(ref *fhir.Reference, from *entry) bool {
	key, about := r.patientKey(ref, from)
	return about == aboutPatient && (key == r.patient.key || key == tail(r.patient.key) || tail(key) == r.patient.key)
}
