package intake

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// name is one way in which a resource can be the same as another.
type name struct{ kind, space, value string }

// names appends the names of an entry: its business identifiers, its fullUrl
// and its logical id. An identifier without a system names nothing.
func (e *entry) names(to []name) []name {
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
	order := make([]int, len(entries))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return compareVersions(&entries[b], &entries[a]) })

	seen := namesSeen{}
	superseded := make([]bool, len(entries))
	for _, i := range order {
		superseded[i] = seen.add(&entries[i])
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
	if e.common == nil {
		return false
	}
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

// compareVersions orders by version number, then by the time of the last
// update. The content decides between copies that give neither, so that the
// order of the entries never does.
func compareVersions(a, b *entry) int {
	if byVersion := cmp.Or(cmp.Compare(a.versionNumber(), b.versionNumber()), a.lastUpdated().Compare(b.lastUpdated())); byVersion != 0 {
		return byVersion
	}
	return bytes.Compare(a.content(), b.content())
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

func (e *entry) content() []byte {
	// The wire model has nothing that cannot be written.
	text, _ := json.Marshal(e.resource)
	return text
}
