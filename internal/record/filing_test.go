package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// filing is a record that stores transactions as FHIR R4 says: conditional creates,
// updates with If-Match, all or nothing, urn:uuid rewritten. Like many records it
// writes numbers without the zeros at their end.
type filing struct {
	t     testing.TB
	files map[string]*file // by Type/id
	clock int
}

type file struct {
	content map[string]any
	version int
}

func newFiling(t testing.TB) *filing { return &filing{t: t, files: map[string]*file{}} }

// posted is what became of a transaction.
type posted struct {
	created, found, updated int
	conflict                bool
}

// post stores a transaction, or nothing of it.
func (f *filing) post(b *fhir.Bundle) (p posted) {
	f.t.Helper()
	addresses := map[string]string{}
	for _, e := range b.Entry {
		switch at := f.find(e); {
		case e.Request.Method == http.MethodPut:
			addresses[e.FullURL] = e.Request.URL
			stored := f.files[e.Request.URL]
			if stored == nil || e.Request.IfMatch != fmt.Sprintf(`W/"%d"`, stored.version) {
				return posted{conflict: true}
			}
			p.updated++
		case at != "":
			addresses[e.FullURL] = at
			p.found++
		default:
			addresses[e.FullURL] = fmt.Sprintf("%s/%d", e.Resource.Type(), len(f.files)+p.created+1)
			p.created++
		}
	}
	for _, e := range b.Entry {
		if e.Request.Method == http.MethodPut || f.files[addresses[e.FullURL]] == nil {
			f.write(addresses[e.FullURL], e.Resource, addresses)
		}
	}
	return p
}

// find is the address of what the condition of a create finds.
func (f *filing) find(e fhir.Entry) string {
	_, token, _ := strings.Cut(e.Request.IfNoneExist, "=")
	system, value, _ := strings.Cut(token, "|")
	value, err := url.QueryUnescape(value)
	if err != nil {
		f.t.Fatal(err)
	}
	for at, stored := range f.files {
		if !strings.HasPrefix(at, e.Resource.Type()+"/") {
			continue
		}
		meta, _ := stored.content["meta"].(map[string]any)
		for _, id := range append(list(stored.content["identifier"]), list(meta["tag"])...) {
			id := id.(map[string]any)
			if id["system"] == system && (id["value"] == value || id["code"] == value) {
				return at
			}
		}
	}
	return ""
}

func list(v any) []any {
	all, _ := v.([]any)
	return all
}

func (f *filing) write(at string, resource fhir.Resource, addresses map[string]string) {
	text := string(fhirjson.Encode(resource))
	for urn, address := range addresses {
		text = strings.ReplaceAll(text, `"`+urn+`"`, `"`+address+`"`)
	}
	var content map[string]any
	if err := json.Unmarshal([]byte(text), &content); err != nil {
		f.t.Fatal(err)
	}
	f.replace(at, content)
}

// replace makes a new version.
func (f *filing) replace(at string, content map[string]any) {
	f.clock++
	stored := f.files[at]
	if stored == nil {
		stored = &file{}
		f.files[at] = stored
	}
	stored.version++
	meta, _ := content["meta"].(map[string]any)
	if meta == nil {
		meta = map[string]any{}
	}
	meta["versionId"] = fmt.Sprint(stored.version)
	meta["lastUpdated"] = fmt.Sprintf("2026-11-01T%02d:%02d:%02dZ", f.clock/3600, f.clock/60%60, f.clock%60)
	_, content["id"], _ = strings.Cut(at, "/")
	content["meta"] = meta
	stored.content = content
}

// change is what a person does to a resource.
func (f *filing) change(at string, with map[string]any) {
	f.t.Helper()
	if f.files[at] == nil {
		f.t.Fatalf("the record has no %s", at)
	}
	content := map[string]any{}
	for _, source := range []map[string]any{f.files[at].content, with} {
		maps.Copy(content, source)
	}
	f.replace(at, content)
}

// into adds all that is stored to what is sent.
func (f *filing) into(s *sent) *sent {
	f.t.Helper()
	if len(f.files) == 0 {
		return s
	}
	all := bytes.NewBufferString(`{"resourceType":"Bundle","type":"searchset","entry":[`)
	for i, at := range f.addresses("") {
		content, err := json.Marshal(f.files[at].content)
		if err != nil {
			f.t.Fatal(err)
		}
		if i > 0 {
			all.WriteByte(',')
		}
		fmt.Fprintf(all, `{"fullUrl":"https://record.example/fhir/%s","resource":%s}`, at, content)
	}
	all.WriteString("]}")
	decoded, err := fhirjson.DecodeInput(all.Bytes(), fhir.DefaultLimits)
	if err != nil {
		f.t.Fatal(err)
	}
	both := *s
	both.bundle = &fhir.Bundle{BundleType: "collection", Entry: append(slices.Clone(s.bundle.Entry), decoded.(*fhir.Bundle).Entry...)}
	return &both
}

// addresses are those of a type, or of all if it is empty, in order.
func (f *filing) addresses(typeName string) (all []string) {
	for at := range f.files {
		if strings.HasPrefix(at, typeName) {
			all = append(all, at)
		}
	}
	slices.Sort(all)
	return all
}

// having are the addresses of a type with a value in a member.
func (f *filing) having(typeName, name, value string) (all []string) {
	for _, at := range f.addresses(typeName + "/") {
		if f.files[at].content[name] == value {
			all = append(all, at)
		}
	}
	return all
}

// state is every address with its version.
func (f *filing) state() string {
	var text strings.Builder
	for _, at := range f.addresses("") {
		fmt.Fprintf(&text, "%s/%d ", at, f.files[at].version)
	}
	return text.String()
}

// settle assesses, posts and posts again, and then does so with what is stored since:
// neither may store more.
func (f *filing) settle(s *sent, o Output) posted {
	f.t.Helper()
	answer := f.into(s).answer(f.t, o)
	first := f.post(answer)
	if first.conflict {
		f.t.Fatal("the record refuses the transaction: a version was not the one that was read")
	}
	before := f.state()
	if again := f.post(answer); again.created > 0 || f.state() != before {
		f.t.Errorf("posted again: %+v; want nothing stored", again)
	}
	if again := f.post(f.into(s).answer(f.t, o)); again.conflict || again.created > 0 || f.state() != before {
		f.t.Errorf("assessed and posted again: %+v; want nothing stored\nbefore %s\nafter  %s", again, before, f.state())
	}
	return first
}
