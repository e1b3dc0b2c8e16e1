package intake

import (
	"bytes"
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// name is one way in which a resource can be the same as another.
type name struct{ kind, space, value string }

// names appends the names of an entry: its business identifiers, its fullUrl
// and its logical id. An identifier without a system names nothing, and a
// resource of a type that is not read has no names.
func (e *entry) names(to []name) []name {
	if e.common == nil {
		return to
	}
	for _, id := range e.common.Identifier {
		if id.System != "" && id.Value != "" {
			to = append(to, name{e.resource.Type(), id.System, id.Value})
		}
	}
	if e.fullURL != "" {
		to = append(to, name{"", "", e.fullURL})
	}
	if e.common.ID != "" {
		to = append(to, name{e.resource.Type(), "", e.common.ID})
	}
	return to
}

// newest keeps the newest of several versions of one resource and reports the
// others. Equal values under different names are repeated trials, so they stay.
//
// It keeps even a newest version that turns out to be unusable: a value that
// was corrected or retracted is not used in its older form.
func (r *reader) newest(entries []entry) []entry {
	copies := copiesIn(entries)
	slices.SortFunc(copies, func(a, b *sent) int { return cmp.Or(b.compare(a), cmp.Compare(a.index, b.index)) })

	seen := namesSeen{}
	superseded := make([]bool, len(entries))
	for _, c := range copies {
		superseded[c.index] = seen.add(c.entry)
	}
	kept := make([]entry, 0, len(entries))
	for i := range entries {
		if superseded[i] {
			r.warn(entries[i].whole(), "", fault.Duplicate, "sent more than once, by identifier, fullUrl or id; only the newest version is used", "")
			continue
		}
		kept = append(kept, entries[i])
	}
	return kept
}

// copiesIn are the entries that have a name in common with another one.
func copiesIn(entries []entry) []*sent {
	times := map[name]int{}
	var few [4]name
	for i := range entries {
		for _, n := range entries[i].names(few[:0]) {
			times[n]++
		}
	}
	var copies []*sent
	for i := range entries {
		e := &entries[i]
		if slices.ContainsFunc(e.names(few[:0]), func(n name) bool { return times[n] > 1 }) {
			copies = append(copies, &sent{index: i, entry: e, version: e.versionNumber(), updated: e.lastUpdated()})
		}
	}
	return copies
}

// anyIdentifierTwice reports whether entries may be the same by a business
// identifier.
func anyIdentifierTwice(entries []entry) bool {
	var seen namesSeen
	for i := range entries {
		e := &entries[i]
		if e.common == nil || len(e.common.Identifier) == 0 {
			continue
		}
		if seen == nil {
			seen = namesSeen{}
		}
		if seen.add(e) {
			return true
		}
	}
	return false
}

// namesSeen holds for each name the fullUrl under which it was seen.
type namesSeen map[name]string

// add adds the names of an entry and reports whether one was there already.
// The same logical id on two servers names two resources.
func (s namesSeen) add(e *entry) (known bool) {
	var few [4]name
	for _, n := range e.names(few[:0]) {
		url, found := s[n]
		if !found {
			s[n] = e.fullURL
			continue
		}
		isLogicalID := n.kind != "" && n.space == ""
		if isLogicalID && onTwoServers(url, e.fullURL) {
			continue
		}
		known = true
	}
	return known
}

func onTwoServers(url, other string) bool { return url != other && isHTTP(url) && isHTTP(other) }

func isHTTP(url string) bool {
	return strings.HasPrefix(url, "http://") || strings.HasPrefix(url, "https://")
}

// sent is an entry with what orders the versions of one resource.
type sent struct {
	index   int // of the entry
	entry   *entry
	version int64
	updated time.Time
	content []byte // nil until it is needed
}

// compare orders by version number, then by the time of the last update. The
// content decides between copies that give neither, so that the order of the
// entries never does.
func (s *sent) compare(o *sent) int {
	if byVersion := cmp.Or(cmp.Compare(s.version, o.version), s.updated.Compare(o.updated)); byVersion != 0 {
		return byVersion
	}
	return bytes.Compare(s.written(), o.written())
}

// written is the content. It is written once, however often it is compared.
func (s *sent) written() []byte {
	if s.content == nil {
		s.content = fhirjson.Encode(s.entry.resource)
	}
	return s.content
}

func (e *entry) meta() fhir.Meta {
	if e.common == nil || e.common.Meta == nil {
		return fhir.Meta{}
	}
	return *e.common.Meta
}

// versionNumber is -1 for a version that is absent or no number.
func (e *entry) versionNumber() int64 {
	n, err := strconv.ParseInt(e.meta().VersionID, 10, 64)
	if err != nil {
		return -1
	}
	return n
}

func (e *entry) lastUpdated() time.Time {
	m, _ := parseMoment(e.meta().LastUpdated)
	return m.time
}
