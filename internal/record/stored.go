package record

import (
	"encoding/hex"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
)

// held is a result of ours that the record has, as the input showed it.
type held struct {
	*intake.Stored
	id resultID // zero if its identifier is not of this form
	// taken says that the answer updates it, or refers to it.
	taken bool
}

// question is what a result answers, of which a shoulder has one answer.
type question struct{ typeName, what string }

// holdings are the results of ours that the record has, in the order of the reading,
// and by question.
type holdings struct {
	all []*held
	by  map[question][]*held
}

func newHoldings(stored []intake.Stored) holdings {
	h := holdings{all: make([]*held, len(stored)), by: make(map[question][]*held, len(stored))}
	for i := range stored {
		one := &held{Stored: &stored[i], id: resultIDIn(stored[i].Common)}
		at := question{one.Resource.Type(), one.id.what}
		h.all[i], h.by[at] = one, append(h.by[at], one)
	}
	return h
}

// resultIDIn is the identifier of ours that a resource carries, zero if it has none of
// the present form.
func resultIDIn(c *fhir.Common) (id resultID) {
	for i := range c.Identifier {
		parts := strings.SplitN(c.Identifier[i].Value, "-", 4)
		if c.Identifier[i].System != fhir.SystemResult || len(parts) < 3 {
			continue
		}
		id = resultID{whose: parts[0], what: parts[1], says: parts[2]}
		if len(parts) > 3 {
			id.copy = parts[3]
		}
	}
	return id
}

// isWritable reports whether it can be updated without overwriting what nobody has
// seen.
func isWritable(s *intake.Stored) bool {
	return s.Common.ID != "" && s.Common.Meta != nil && s.Common.Meta.VersionID != ""
}

// isClosed reports whether a result counts no more.
func isClosed(resource fhir.Resource) bool {
	switch r := resource.(type) {
	case *fhir.CarePlan:
		return slices.Contains([]string{"completed", "revoked", "entered-in-error"}, r.Status)
	case *fhir.Goal:
		return slices.Contains([]string{"completed", "cancelled", "entered-in-error"}, r.LifecycleStatus)
	}
	return slices.Contains([]string{"cancelled", "entered-in-error"}, *statusOf(resource))
}

// statusOf is the status of a result that is neither plan nor goal.
func statusOf(resource fhir.Resource) *string {
	switch r := resource.(type) {
	case *fhir.Observation:
		return &r.Status
	case *fhir.DetectedIssue:
		return &r.Status
	case *fhir.DiagnosticReport:
		return &r.Status
	}
	return new(string)
}

// isStillOurs reports whether nobody but us had a hand in a result: no status was
// raised, nobody took responsibility for it, and a plan or goal says what we wrote.
func isStillOurs(resource fhir.Resource, id resultID) bool {
	switch r := resource.(type) {
	case *fhir.CarePlan:
		return isDevice(r.Author) && saysAsWritten(r, id)
	case *fhir.Goal:
		return saysAsWritten(r, id)
	case *fhir.DiagnosticReport:
		return r.Status == statusUnverifiedReport && len(r.Performer) == 0 && len(r.ResultsInterpreter) == 0
	case *fhir.Observation:
		return r.Status == statusUnverified && len(r.Performer) == 0
	case *fhir.DetectedIssue:
		return r.Status == statusUnverified && len(r.Mitigation) == 0
	}
	return false
}

func saysAsWritten(resource fhir.Resource, id resultID) bool {
	says := digestOf(appendPlanned(nil, resource))
	return strings.HasPrefix(id.says, hex.EncodeToString(says[:]))
}

func isDevice(author *fhir.Reference) bool {
	return author != nil && (author.TypeName == "Device" || author.Reference != "" && !namesOther(author.Reference, "Device"))
}

// settle puts a result in the place of the one that the record has for the same
// question, and reports whether there is nothing left to create. The identifier gets a
// number where the same was said before and withdrawn.
func (b *builder) settle(resource fhir.Resource, common *fhir.Common, id *resultID) (fhir.Reference, bool) {
	all := b.holdings.by[question{resource.Type(), id.what}]
	if len(all) == 0 {
		return fhir.Reference{}, false
	}
	withdrawn := 0
	for _, h := range all {
		switch {
		case h.id.says != id.says:
		case isClosed(h.Resource):
			withdrawn++
		default:
			return b.take(h), true
		}
	}
	if withdrawn > 0 {
		id.copy = strconv.Itoa(withdrawn + 1)
	}
	if _, ok := resource.(*fhir.Goal); ok {
		if ref, decided := b.decidedGoal(all); decided {
			return ref, true
		}
	}
	if h := b.updatable(resource, all); h != nil {
		return b.update(resource, common, h, *id), true
	}
	b.sayReplaced(resource, common, all)
	return fhir.Reference{}, false
}

// take refers to what the record has.
func (b *builder) take(h *held) fhir.Reference {
	h.taken = true
	ref := b.outside.reference(h.Reference, h.Resource.Type())
	b.computed = append(b.computed, ref)
	return ref
}

// decidedGoal is the goal about which a clinician decided: an accepted or changed one
// stands, and one that was rejected is not proposed again.
func (b *builder) decidedGoal(all []*held) (fhir.Reference, bool) {
	rejected := false
	for _, h := range all {
		if isClosed(h.Resource) || isStillOurs(h.Resource, h.id) {
			continue
		}
		if h.Resource.(*fhir.Goal).LifecycleStatus != "rejected" {
			return b.take(h), true
		}
		rejected = true
	}
	return fhir.Reference{}, rejected
}

// updatable is the result that a new one takes the place of, nil if there is none: a
// plan and its goals are new with each assessment, unless they are to live on.
func (b *builder) updatable(resource fhir.Resource, all []*held) *held {
	if isPlanned(resource) && b.o.Output != LivingTransaction {
		return nil
	}
	for _, h := range all {
		if !isClosed(h.Resource) && isStillOurs(h.Resource, h.id) && isWritable(h.Stored) {
			return h
		}
	}
	return nil
}

func isPlanned(resource fhir.Resource) bool {
	switch resource.(type) {
	case *fhir.CarePlan, *fhir.Goal:
		return true
	}
	return false
}

// update writes a result in the place of one that the record has, if that is still the
// version that was read.
func (b *builder) update(resource fhir.Resource, common *fhir.Common, h *held, id resultID) fhir.Reference {
	h.taken = true
	common.ID = h.Common.ID
	return b.put(resource, h, b.identify(common, id))
}

// put adds an update of what the record has.
//
// Source: FHIR R4 4.0.1, RESTful API, managing resource contention.
func (b *builder) put(resource fhir.Resource, h *held, id fhir.Identifier) fhir.Reference {
	ref := b.addEntry(fhir.Entry{FullURL: b.urn(id), Resource: resource, Request: &fhir.Request{
		Method: "PUT", URL: resource.Type() + "/" + h.Common.ID, IfMatch: `W/"` + h.Common.Meta.VersionID + `"`,
	}})
	b.computed = append(b.computed, ref)
	return ref
}

// sayReplaced says which results a new one replaces that are not ours to change. A
// CarePlan has an element for it; see replacedPlans.
//
// Source: FHIR R4 4.0.1, extensions observation-replaces and diagnosticReport-replaces.
func (b *builder) sayReplaced(resource fhir.Resource, common *fhir.Common, all []*held) {
	extension := map[string]string{
		"Observation": fhir.ExtensionReplaces, "DiagnosticReport": fhir.ExtensionReportReplaces,
	}[resource.Type()]
	if extension == "" {
		return
	}
	for _, h := range all {
		if !isClosed(h.Resource) {
			ref := b.outside.reference(h.Reference, h.Resource.Type())
			common.Extension = append(common.Extension, fhir.Extension{URL: extension, Value: &ref})
		}
	}
}

// replacedPlans are the plans of this shoulder that count no more beside a new one, and
// those that do not tell which shoulder they are for.
func (b *builder) replacedPlans() (replaced []fhir.Reference) {
	what := b.what("CarePlan", carePlanKey, "")
	for _, h := range b.holdings.all {
		if _, ok := h.Resource.(*fhir.CarePlan); ok && !h.taken && !isClosed(h.Resource) && (h.id.what == what || h.id.what == "") {
			replaced = append(replaced, b.outside.reference(h.Reference, "CarePlan"))
		}
	}
	return replaced
}
