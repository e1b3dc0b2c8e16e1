package subscription

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhirclient"
)

const base = "https://record.example/fhir"

// The forms follow the specifications: R4 sends the resource, or nothing; the backport guide a Bundle of type history with
// Parameters first; R4B and R5 with a SubscriptionStatus.
func TestRead(t *testing.T) {
	status := func(kind string, parts string) string {
		return `{"resourceType":"Bundle","type":"history","entry":[{"fullUrl":"urn:uuid:1","resource":{"resourceType":"Parameters","id":"s","parameter":[{"name":"subscription","valueReference":{"reference":"https://record.example/fhir/Subscription/1"}},{"name":"type","valueCode":"` + kind + `"}` + parts + `]},"request":{"method":"GET","url":"Subscription/1/$status"},"response":{"status":"200"}}`
	}
	r5 := func(kind, rest string) string {
		return `{"resourceType":"Bundle","type":"subscription-notification","entry":[{"resource":{"resourceType":"SubscriptionStatus","status":"active","type":"` + kind + `","subscription":{"reference":"Subscription/1"}` + rest + `}}`
	}
	for _, c := range []struct {
		name, body          string
		patients, resources []string
		unnamed             bool
	}{
		{"R4 without a payload", "", nil, nil, true},
		{"R4 with the Observation", `{"resourceType":"Observation","id":"o1","subject":{"reference":"Patient/p1"}}`, []string{"p1"}, nil, false},
		{"an absolute reference", `{"resourceType":"Observation","id":"o1","subject":{"reference":"https://record.example/fhir/Patient/p1/_history/3"}}`, []string{"p1"}, nil, false},
		{"an element patient", `{"resourceType":"DetectedIssue","id":"o1","patient":{"reference":"Patient/p2"}}`, []string{"p2"}, nil, false},
		{"the Patient", `{"resourceType":"Patient","id":"p1"}`, []string{"p1"}, nil, false},
		{"a subject by identifier only", `{"resourceType":"Observation","id":"o1","subject":{"identifier":{"value":"7"}}}`, nil, []string{"Observation/o1"}, false},
		{"a patient of another record", `{"resourceType":"Observation","id":"o1","subject":{"reference":"https://other.example/fhir/Patient/p1"}}`, nil, []string{"Observation/o1"}, false},
		{"R5 elements", `{"resourceType":"Procedure","id":"o1","type":{"coding":[]},"subject":{"reference":"Patient/p1"}}`, []string{"p1"}, nil, false},

		{"a result of ours", `{"resourceType":"Observation","id":"o1","identifier":[{"system":"https://evenreach.example/fhir/sid/result","value":"1"}],"subject":{"reference":"Patient/p1"}}`, nil, nil, false},
		{"handshake", status("handshake", "") + "]}", nil, nil, false},
		{"heartbeat", status("heartbeat", "") + "]}", nil, nil, false},
		{"empty payload", status("event-notification", `,{"name":"notification-event","part":[{"name":"event-number","valueString":"2"}]}`) + "]}", nil, nil, true},
		{"id-only by focus", status("event-notification", `,{"name":"notification-event","part":[{"name":"focus","valueReference":{"reference":"https://record.example/fhir/Observation/o1"}}]}`) + "]}", nil, []string{"Observation/o1"}, false},
		{"id-only by entry", status("event-notification", "") + `,{"fullUrl":"https://record.example/fhir/Observation/o1","request":{"method":"PUT","url":"Observation/o1"},"response":{"status":"200"}}]}`, nil, []string{"Observation/o1"}, false},
		{"full-resource", status("event-notification", "") + `,{"fullUrl":"https://record.example/fhir/Observation/o1","resource":{"resourceType":"Observation","id":"o1","subject":{"reference":"Patient/p1"}}},{"resource":{"resourceType":"Observation","id":"o2","subject":{"reference":"Patient/p1"}}}]}`, []string{"p1"}, nil, false},
		{"deleted", status("event-notification", "") + `,{"fullUrl":"https://record.example/fhir/Observation/o1","request":{"method":"DELETE","url":"Observation/o1"},"response":{"status":"204"}}]}`, nil, []string{"Observation/o1"}, false},

		{"R5 handshake", r5("handshake", "") + "]}", nil, nil, false},
		{"R5 id-only", r5("event-notification", `,"notificationEvent":[{"eventNumber":"1","focus":{"reference":"Observation/o1"}},{"eventNumber":"2","focus":{"reference":"Patient/p1"}}]`) + "]}", []string{"p1"}, []string{"Observation/o1"}, false},
		{"R5 full-resource", r5("event-notification", "") + `,{"resource":{"resourceType":"Observation","id":"o1","subject":{"reference":"Patient/p1"}}}]}`, []string{"p1"}, nil, false},
		{"R5 empty", r5("event-notification", "") + "]}", nil, nil, true},

		{"another record's resources", status("event-notification", "") + `,{"fullUrl":"https://other.example/fhir/Observation/o1"},{"request":{"url":"../admin"}},{"request":{"url":"Observation/../x"}},{"request":{"url":"Observation?x=1"}}]}`, nil, nil, true},
	} {
		got, err := Read([]byte(c.body), base)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if !slices.Equal(got.Patients, c.patients) || !slices.Equal(got.Resources, c.resources) || got.Unnamed != c.unnamed {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

func TestRefused(t *testing.T) {
	named := make([]string, maxNamed+1)
	for i := range named {
		named[i] = fmt.Sprintf(`{"request":{"url":"Observation/o%d"}}`, i)
	}
	for body, want := range map[string]fault.Kind{
		"x": fault.Syntax, "[]": fault.Structure, `{}`: fault.WrongResource, `{"a":1,"a":2}`: fault.DuplicateName,
		`{"resourceType":"Bundle","type":"searchset"}`:                                          fault.BadValue,
		`{"resourceType":"Bundle","type":"history","entry":[` + strings.Join(named, ",") + `]}`: fault.TooLong,
	} {
		_, err := Read([]byte(body), base)
		refused, ok := errors.AsType[*fault.Errors](err)
		if !ok || refused.Kind() != want {
			t.Errorf("%.60s: %v, want %v", body, err, want)
		}
	}
}

// FuzzRead looks for a panic, and for an address that is none of the record.
func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"resourceType":"Bundle","type":"history","entry":[{"resource":{"resourceType":"Parameters","parameter":[{"name":"type","valueCode":"event-notification"}]}},{"fullUrl":"https://record.example/fhir/Observation/1"}]}`))
	f.Add([]byte(`{"resourceType":"Observation","id":"../x","subject":{"reference":"Patient/.."}}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		n, err := Read(body, base)
		if err != nil {
			if _, ok := errors.AsType[*fault.Errors](err); !ok {
				t.Fatalf("the error is %T", err)
			}
			return
		}
		for _, id := range n.Patients {
			if !fhirclient.IsID(id) {
				t.Errorf("a patient is %q", id)
			}
		}
		for _, at := range n.Resources {
			typeName, id, _ := strings.Cut(at, "/")
			if !isType(typeName) || !fhirclient.IsID(id) {
				t.Errorf("a resource is %q", at)
			}
		}
	})
}
