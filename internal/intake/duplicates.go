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

// identityKey is a key by which two entries are recognised as the same resource: a
// business identifier, a fullUrl or a logical id.
type identityKey struct{ kind, space, value string }

// hash finds keys that may be equal. Different keys with one hash cost time and do no
// harm.
func (n identityKey) hash() uint64 { return maphash.Comparable(seed, n) }

var seed = maphash.MakeSeed()

// identityKeys appends the keys of an entry: its business identifiers, its fullUrl and its
// logical id. An identifier without a system is no key, and a resource of a type that is
// not read has none.
func (e *entry) identityKeys(to []identityKey) []identityKey {
	if e.common == nil {
		return to
	}
	for _, id := range e.common.Identifier {
		if id.System != "" && id.Value != "" {
			to = append(to, identityKey{e.resource.Type(), id.System, id.Value})
		}
	}
	if e.fullURL != "" {
		to = append(to, identityKey{"", "", e.fullURL})
	}
	if e.common.ID != "" {
		to = append(to, identityKey{e.resource.Type(), "", e.common.ID})
	}
	return to
}

// newest keeps the newest of several versions of one resource and reports the others.
// Equal values under different keys are repeated trials and stay.
//
// It keeps even a newest version that turns out to be unusable: a value that
// was corrected or retracted is not used in its older form. Where nothing tells
// which version is the newest, none is kept.
func (r *reader) newest(entries []entry) []entry {
	dropped := make([]bool, len(entries))
	for _, copies := range copiesIn(entries) {
		newest := newestOf(copies)
		for _, c := range copies {
			dropped[c.index] = c != newest
			switch {
			case newest == nil:
				r.reportUndecided(c.entry)
			case c != newest:
				r.warn(c.entry.pathBase(), "", fault.Duplicate, "sent more than once, by identifier, fullUrl or id; only the newest version is used", "")
			}
		}
	}
	kept := make([]entry, 0, len(entries))
	for i := range entries {
		if !dropped[i] {
			kept = append(kept, entries[i])
		}
	}
	return kept
}

func (r *reader) reportUndecided(e *entry) {
	r.lostEntries = append(r.lostEntries, e)
	r.warn(e.pathBase(), "", fault.VersionUndecided,
		"the same resource, by identifier, fullUrl or id, is here with different contents, and nothing tells which is the newest; none of them is used; expected meta.versionId or meta.lastUpdated in each, or the newest version alone", "")
}

// copiesIn groups the entries that are the same resource: those that share a key, directly
// or through another copy. Each group has at least two.
func copiesIn(entries []entry) (groups [][]*resourceCopy) {
	servers := serversIn(entries)
	leader := make([]int, len(entries)) // the first entry of the group so far
	holder := map[identityKey]int{}     // the first entry with a key
	var few [4]identityKey
	for i := range entries {
		leader[i] = i
		for _, n := range entries[i].identityKeys(few[:0]) {
			if servers[n] == severalServers && n.isLogicalID() && isHTTP(entries[i].fullURL) {
				continue // the same logical id on two servers names two resources
			}
			if first, known := holder[n]; known {
				join(leader, first, i)
			} else {
				holder[n] = i
			}
		}
	}
	return grouped(entries, leader)
}

// severalServers stands for more than one address.
const severalServers = "*"

// serversIn is the fullUrl on a server of each logical id.
func serversIn(entries []entry) map[identityKey]string {
	servers := map[identityKey]string{}
	var few [4]identityKey
	for i := range entries {
		url := entries[i].fullURL
		if !isHTTP(url) {
			continue
		}
		for _, n := range entries[i].identityKeys(few[:0]) {
			if !n.isLogicalID() {
				continue
			}
			if known, found := servers[n]; found && known != url {
				url = severalServers
			}
			servers[n] = url
		}
	}
	return servers
}

func (n identityKey) isLogicalID() bool { return n.kind != "" && n.space == "" }

// join merges the groups of two entries under the earlier of their leaders (union-find).
func join(leader []int, a, b int) {
	a, b = leaderOf(leader, a), leaderOf(leader, b)
	leader[max(a, b)] = min(a, b)
}

func leaderOf(leader []int, i int) int {
	for leader[i] != i {
		leader[i] = leader[leader[i]]
		i = leader[i]
	}
	return i
}

// grouped lists the groups of more than one, in the order of the entries.
func grouped(entries []entry, leader []int) (groups [][]*resourceCopy) {
	at := map[int]int{} // the group of a leader
	for i := range entries {
		first := leaderOf(leader, i)
		if first == i {
			continue
		}
		n, known := at[first]
		if !known {
			n = len(groups)
			at[first] = n
			groups = append(groups, []*resourceCopy{{index: first, entry: &entries[first]}})
		}
		groups[n] = append(groups[n], &resourceCopy{index: i, entry: &entries[i]})
	}
	return groups
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
			h := identityKey{e.resource.Type(), id.System, id.Value}.hash()
			if seen[h] {
				return true
			}
			seen[h] = true
		}
	}
	return false
}

func onTwoServers(url, other string) bool { return url != other && isHTTP(url) && isHTTP(other) }

func isHTTP(url string) bool {
	return strings.HasPrefix(url, "http://") || strings.HasPrefix(url, "https://")
}

// resourceCopy is one of several copies of a resource.
type resourceCopy struct {
	index   int // of the entry
	entry   *entry
	content []byte // nil until it is needed
}

// newestOf is the copy that is newer than all others, nil if none is. Of copies with the
// same content one is as good as another: the one whose version is written last is taken,
// so that the order of the entries plays no part.
func newestOf(copies []*resourceCopy) *resourceCopy {
	newest := copies[0]
	for _, c := range copies[1:] {
		order := c.compare(newest)
		if order > 0 || order == 0 && c.same(newest) && c.versionText() > newest.versionText() {
			newest = c
		}
	}
	for _, c := range copies {
		if c != newest && newest.compare(c) <= 0 && !c.same(newest) {
			return nil
		}
	}
	return newest
}

// compare orders two copies by what both of them state: the number of the
// version, the time of the last update, the time of issue, and at last the
// status. It is 0 if nothing tells which is the newer.
func (s *resourceCopy) compare(o *resourceCopy) int {
	return cmp.Or(
		compareKnown(s.entry.versionNumber(), o.entry.versionNumber()),
		compareTimes(s.entry.lastUpdated(), o.entry.lastUpdated()),
		compareTimes(s.entry.issued(), o.entry.issued()),
		compareKnown(s.entry.statusRank(), o.entry.statusRank()),
	)
}

// compareKnown compares two numbers of which a negative one is not known.
func compareKnown(a, b int64) int {
	if a < 0 || b < 0 {
		return 0
	}
	return cmp.Compare(a, b)
}

// compareTimes compares two times of which a zero one is not known.
func compareTimes(a, b time.Time) int {
	if a.IsZero() || b.IsZero() {
		return 0
	}
	return a.Compare(b)
}

// same reports whether two copies have the same content, whatever their versions.
func (s *resourceCopy) same(o *resourceCopy) bool {
	return bytes.Equal(s.canonicalContent(), o.canonicalContent())
}

// canonicalContent is the resource as JSON, without its metadata. It is encoded once,
// however often it is compared.
func (s *resourceCopy) canonicalContent() []byte {
	if s.content == nil {
		s.content = fhirjson.Encode(withoutMeta(s.entry.resource))
	}
	return s.content
}

// versionText is the version as it stands in the resource.
func (s *resourceCopy) versionText() string {
	m := s.entry.meta()
	return m.VersionID + " " + m.LastUpdated
}

// withoutMeta is a copy of a resource of a type that is read, without its
// metadata. The resource itself stays as it is.
func withoutMeta(resource fhir.Resource) fhir.Resource {
	switch resource := resource.(type) {
	case *fhir.Observation:
		return withoutMetaOf(resource)
	case *fhir.Patient:
		return withoutMetaOf(resource)
	case *fhir.Condition:
		return withoutMetaOf(resource)
	case *fhir.Procedure:
		return withoutMetaOf(resource)
	case *fhir.Encounter:
		return withoutMetaOf(resource)
	case *fhir.Goal:
		return withoutMetaOf(resource)
	case *fhir.CarePlan:
		return withoutMetaOf(resource)
	case *fhir.DiagnosticReport:
		return withoutMetaOf(resource)
	case *fhir.DetectedIssue:
		return withoutMetaOf(resource)
	}
	return resource
}

func withoutMetaOf[T any, R interface {
	*T
	fhir.Resource
}](resource R) fhir.Resource {
	c := new(T)
	*c = *resource
	fhir.CommonOf(R(c)).Meta = nil
	return R(c)
}

// issued is the time at which a result was made available, zero if it is not
// known.
func (e *entry) issued() time.Time {
	if o, ok := e.resource.(*fhir.Observation); ok {
		m, _ := parseDateTime(o.Issued)
		return m.time
	}
	return time.Time{}
}

// withdrawnRank is the rank of a withdrawn resource in statusOrder.
const withdrawnRank = 3

// statusOrder says which status follows which: a result is first expected, then
// there, then corrected, and at last withdrawn. Statuses of the same rank, and
// those that are not here, do not tell versions apart.
//
// Source: FHIR R4 4.0.1, value sets observation-status and event-status; the order
// is ours.
var statusOrder = map[string]int64{
	"registered": 0, "preparation": 0, "not-done": 0, "preliminary": 0, "in-progress": 0,
	"final": 1, "completed": 1,
	"amended": 2, "corrected": 2,
	"cancelled": withdrawnRank, "entered-in-error": withdrawnRank,
}

// statusRank is the rank of the status in statusOrder, -1 if it has none.
func (e *entry) statusRank() int64 {
	status := ""
	switch resource := e.resource.(type) {
	case *fhir.Observation:
		status = resource.Status
	case *fhir.Procedure:
		status = resource.Status
	case *fhir.Condition:
		status = "final"
		if isWithdrawn(resource.VerificationStatus) {
			status = "entered-in-error"
		}
	}
	rank, known := statusOrder[status]
	if !known {
		return -1
	}
	return rank
}

func isWithdrawn(verification *fhir.CodeableConcept) bool {
	return verification != nil && slices.ContainsFunc(verification.Coding, func(c fhir.Coding) bool {
		return withdrawnStatuses[code{c.Code, c.System}]
	})
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
	m, _ := parseDateTime(e.meta().LastUpdated)
	return m.time
}
