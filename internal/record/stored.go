package record

import (
	"encoding/hex"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/intake"
)

// storedResult is a result of an earlier answer that the record has, as it is in the
// input.
type storedResult struct {
	*intake.Stored
	id resultID // zero if its identifier is not of this form
	// isReferred says that the answer updates it or refers to it.
	isReferred bool
}

// resultSlot identifies the question that a result answers, by its type and the digest of
// resultID. A shoulder has one valid result a slot.
type resultSlot struct{ typeName, question string }

// storedResults are the earlier results that the record has, in the order of the reading,
// and by slot.
type storedResults struct {
	all    []*storedResult
	bySlot map[resultSlot][]*storedResult
}

func newStoredResults(stored []intake.Stored) storedResults {
	h := storedResults{all: make([]*storedResult, len(stored)), bySlot: make(map[resultSlot][]*storedResult, len(stored))}
	for i := range stored {
		one := &storedResult{Stored: &stored[i], id: resultIDIn(stored[i].Common)}
		at := resultSlot{one.Resource.Type(), one.id.question}
		h.all[i], h.bySlot[at] = one, append(h.bySlot[at], one)
	}
	return h
}

// resultIDIn is the identifier that this service gave to a resource, zero if it has none
// of the present form.
func resultIDIn(c *fhir.Common) (id resultID) {
	for i := range c.Identifier {
		parts := strings.SplitN(c.Identifier[i].Value, "-", 4)
		if c.Identifier[i].System != fhir.SystemResult || len(parts) < 3 {
			continue
		}
		id = resultID{shoulder: parts[0], question: parts[1], content: parts[2]}
		if len(parts) > 3 {
			id.copy = parts[3]
		}
	}
	return id
}

// isWritable reports whether it can be updated without overwriting a newer version: its id
// and version are known.
func isWritable(s *intake.Stored) bool {
	return s.Common.ID != "" && s.Common.Meta != nil && s.Common.Meta.VersionID != ""
}

// isClosed reports whether a result is no longer valid.
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

// isUnchanged reports whether only this service wrote a result: its status was not raised,
// nobody took responsibility for it, and a plan or goal has the content that was written.
func isUnchanged(resource fhir.Resource, id resultID) bool {
	switch r := resource.(type) {
	case *fhir.CarePlan:
		return isDevice(r.Author) && hasContentAsWritten(r, id)
	case *fhir.Goal:
		return hasContentAsWritten(r, id)
	case *fhir.DiagnosticReport:
		return r.Status == statusUnverifiedReport && len(r.Performer) == 0 && len(r.ResultsInterpreter) == 0
	case *fhir.Observation:
		return r.Status == statusUnverified && len(r.Performer) == 0
	case *fhir.DetectedIssue:
		return r.Status == statusUnverified && len(r.Mitigation) == 0
	}
	return false
}

func hasContentAsWritten(resource fhir.Resource, id resultID) bool {
	content := digestOf(appendPlanned(nil, resource))
	return strings.HasPrefix(id.content, hex.EncodeToString(content[:]))
}

func isDevice(author *fhir.Reference) bool {
	return author != nil && (author.TypeName == "Device" || author.Reference != "" && !namesOther(author.Reference, "Device"))
}

// settle finds the result that the record has in the same slot, and keeps or updates it if
// possible. It reports whether nothing is left to create. The identifier gets a number if
// a result with the same content was withdrawn before.
func (b *builder) settle(resource fhir.Resource, common *fhir.Common, id *resultID) (fhir.Reference, bool) {
	all := b.stored.bySlot[resultSlot{resource.Type(), id.question}]
	if len(all) == 0 {
		return fhir.Reference{}, false
	}
	withdrawn := 0
	for _, h := range all {
		switch {
		case h.id.content != id.content:
		case isClosed(h.Resource):
			withdrawn++
		default:
			return b.referTo(h), true
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
	b.markReplaced(resource, common, all)
	return fhir.Reference{}, false
}

// referTo adds a reference to a result that the record has.
func (b *builder) referTo(h *storedResult) fhir.Reference {
	h.isReferred = true
	ref := b.rewriter.reference(h.Reference, h.Resource.Type())
	b.computed = append(b.computed, ref)
	return ref
}

// decidedGoal is the goal about which a clinician decided: an accepted or changed one is
// kept, and one that was rejected is not proposed again.
func (b *builder) decidedGoal(all []*storedResult) (fhir.Reference, bool) {
	rejected := false
	for _, h := range all {
		if isClosed(h.Resource) || isUnchanged(h.Resource, h.id) {
			continue
		}
		if h.Resource.(*fhir.Goal).LifecycleStatus != "rejected" {
			return b.referTo(h), true
		}
		rejected = true
	}
	return fhir.Reference{}, rejected
}

// updatable is the stored result that a new one updates, nil if there is none. A plan and
// its goals are created anew with each assessment, except in a living transaction.
func (b *builder) updatable(resource fhir.Resource, all []*storedResult) *storedResult {
	if isPlanned(resource) && b.o.Output != LivingTransaction {
		return nil
	}
	for _, h := range all {
		if !isClosed(h.Resource) && isUnchanged(h.Resource, h.id) && isWritable(h.Stored) {
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

// update adds an update of a stored result, which takes effect only if the record still
// has the version that was read.
func (b *builder) update(resource fhir.Resource, common *fhir.Common, h *storedResult, id resultID) fhir.Reference {
	h.isReferred = true
	common.ID = h.Common.ID
	return b.addUpdate(resource, h, b.identify(common, id))
}

// addUpdate adds the entry of an update with ifMatch.
//
// Source: FHIR R4 4.0.1, RESTful API, managing resource contention.
func (b *builder) addUpdate(resource fhir.Resource, h *storedResult, id fhir.Identifier) fhir.Reference {
	ref := b.addEntry(fhir.Entry{FullURL: b.urn(id), Resource: resource, Request: &fhir.Request{
		Method: "PUT", URL: resource.Type() + "/" + h.Common.ID, IfMatch: `W/"` + h.Common.Meta.VersionID + `"`,
	}})
	b.computed = append(b.computed, ref)
	return ref
}

// markReplaced adds an extension with the results that a new one replaces and that this
// service may not change. A CarePlan has an element for it; see replacedPlans.
//
// Source: FHIR R4 4.0.1, extensions observation-replaces and diagnosticReport-replaces.
func (b *builder) markReplaced(resource fhir.Resource, common *fhir.Common, all []*storedResult) {
	extension := map[string]string{
		"Observation": fhir.ExtensionReplaces, "DiagnosticReport": fhir.ExtensionReportReplaces,
	}[resource.Type()]
	if extension == "" {
		return
	}
	for _, h := range all {
		if !isClosed(h.Resource) {
			ref := b.rewriter.reference(h.Reference, h.Resource.Type())
			common.Extension = append(common.Extension, fhir.Extension{URL: extension, Value: &ref})
		}
	}
}

// replacedPlans are the plans of this shoulder that a new one replaces, and those that do
// not state their shoulder.
func (b *builder) replacedPlans() (replaced []fhir.Reference) {
	question := b.questionDigest("CarePlan", carePlanKey, "")
	for _, h := range b.stored.all {
		if _, ok := h.Resource.(*fhir.CarePlan); ok && !h.isReferred && !isClosed(h.Resource) && (h.id.question == question || h.id.question == "") {
			replaced = append(replaced, b.rewriter.reference(h.Reference, "CarePlan"))
		}
	}
	return replaced
}
