package intake

import (
	"bytes"
	"cmp"
	"hash/maphash"
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

// hash finds names that may be the same. Two names of one hash take time and
// change nothing.
func (n name) hash() uint64 { return maphash.Comparable(seed, n) }

var seed = maphash.MakeSeed()

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

// copiesIn are the entries that may have a name in common with another one.
func copiesIn(entries []entry) []*sent {
	times := map[uint64]int{}
	var few [4]name
	for i := range entries {
		for _, n := range entries[i].names(few[:0]) {
			times[n.hash()]++
		}
	}
	var copies []*sent
	for i := range entries {
		e := &entries[i]
		if slices.ContainsFunc(e.names(few[:0]), func(n name) bool { return times[n.hash()] > 1 }) {
			copies = append(copies, &sent{index: i, entry: e, version: e.versionNumber(), updated: e.lastUpdated()})
		}
	}
	return copies
}

// anyIdentifierTwice reports whether entries may be the same by a business
// identifier.
func anyIdentifierTwice(entries []entry) bool {
	seen := map[uint64]bool{}
	for i := range entries {
		e := &entries[i]
		if e.common == nil {
			continue
		}
		for _, id := range e.common.Identifier {
			if id.System == "" || id.Value == "" {
				continue
			}
			h := name{e.resource.Type(), id.System, id.Value}.hash()
			if seen[h] {
				return true
			}
			seen[h] = true
		}
	}
	return false
}

// namesSeen holds for each name the fullUrl under which it was seen.
type namesSeen map[name]string

// add adds the names of an entry and reports whether one was there already.
func (s namesSeen) add(e *entry) (known bool) {
	var few [4]name
	names := e.names(few[:0])
	for _, n := range names {
		known = known || s.holds(n, e.fullURL)
	}
	for _, n := range names {
		if _, found := s[n]; !found {
			s[n] = e.fullURL
		}
	}
	return known
}

// holds reports whether a name was seen. The same logical id on two servers names
// two resources.
func (s namesSeen) holds(n name, url string) bool {
	other, found := s[n]
	isLogicalID := n.kind != "" && n.space == ""
	return found && (!isLogicalID || !onTwoServers(other, url))
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
