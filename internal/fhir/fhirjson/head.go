package fhirjson

// Head is what tells one resource of an export from the others: its type, its id, and
// whose it is. What is not there is empty.
type Head struct {
	Type, ID string
	Patient  string // reference of subject or patient
}

// ReadHead reads the head of a resource, whatever its type. It reports false for what
// is not one object of JSON in UTF-8; what was found of the head before the fault is
// given all the same. Whether the resource is FHIR is left to Decode.
func ReadHead(body []byte) (h Head, ok bool) {
	l := lexer{body: body, text: string(body)}
	if !l.scan() || l.kind != '{' {
		return h, false
	}
	whose := false // within subject or patient
	for l.after != afterAll {
		if !l.scan() {
			return h, false
		}
		if len(l.open) == 1 {
			whose = false
		}
		if l.after != afterName || len(l.open) > 2 || len(l.open) == 2 && !whose {
			continue
		}
		name, outer := l.text[l.start+1:l.end-1], len(l.open) == 1
		if !l.scan() {
			return h, false
		}
		switch {
		case outer && (name == "subject" || name == "patient"):
			whose = l.kind == '{'
		case l.kind != '"':
		case outer && name == "resourceType":
			h.Type = l.unquoted()
		case outer && name == "id":
			h.ID = l.unquoted()
		case !outer && name == "reference":
			h.Patient = l.unquoted()
		}
	}
	return h, l.space(l.end) == len(body)
}
