package intake

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// replaced are the Observations that others state to replace.
type replaced struct {
	keys        map[string]bool
	identifiers map[fhir.Identifier]bool
}

// withoutReplaced drops the Observations that another one replaces, unless that one was
// itself withdrawn.
//
// Source: FHIR R4 4.0.1, extension observation-replaces.
func (r *reader) withoutReplaced(entries []entry) []entry {
	old := r.replacedBy(entries)
	if old.keys == nil {
		return entries
	}
	kept := make([]entry, 0, len(entries))
	for i := range entries {
		e := &entries[i]
		if _, ok := e.resource.(*fhir.Observation); ok && old.holds(e) {
			r.warn(e.pathBase(), "", fault.Duplicate, "another Observation says that it replaces this one; not used", "")
			continue
		}
		kept = append(kept, *e)
	}
	return kept
}

func (r *reader) replacedBy(entries []entry) (old replaced) {
	for i := range entries {
		o, ok := entries[i].resource.(*fhir.Observation)
		if !ok || statusOrder[o.Status] == withdrawnRank {
			continue
		}
		for k := range o.Extension {
			if target, ok := o.Extension[k].Value.(*fhir.Reference); ok && o.Extension[k].URL == fhir.ExtensionReplaces {
				old.add(r, target, &entries[i])
			}
		}
	}
	return old
}

func (old *replaced) add(r *reader, target *fhir.Reference, from *entry) {
	if old.keys == nil {
		old.keys, old.identifiers = map[string]bool{}, map[fhir.Identifier]bool{}
	}
	if target.Reference != "" {
		old.keys[r.resolve(&r.caches.focuses, target.Reference, from).key] = true
	}
	if target.Identifier != nil && target.Identifier.Value != "" {
		old.identifiers[*target.Identifier] = true
	}
}

func (old *replaced) holds(e *entry) bool {
	if old.keys[e.target().key] {
		return true
	}
	for _, id := range e.common.Identifier {
		if old.identifiers[id] {
			return true
		}
	}
	return false
}
