package auth

import "strings"

// Required is the scope that an assessment needs: its caller hands in
// Observations and gets Observations back. SMART has no scopes for operations.
const Required = "system/Observation.rs"

// RequiredToStore is the scope by which a client has an answer stored in the configured record.
const RequiredToStore = "system/Observation.cruds"

// covers reports whether a scope lets its client read and search every
// Observation, as a system or for a user. Scopes of a single patient do not,
// nor do those that are narrowed by a query, because this service cannot tell which
// Observations such a query leaves out.
func covers(scope string) bool { return grants(scope, "rs") }

// coversStoring reports whether a scope also lets its client create and update them.
func coversStoring(scope string) bool { return grants(scope, "crus") }

// grants reports whether scopes together have all of some permissions.
func grants(scope, wanted string) bool {
	granted := map[byte]bool{}
	for one := range strings.FieldsSeq(scope) {
		for _, permission := range []byte(permissions(one)) {
			granted[permission] = true
		}
	}
	for _, permission := range []byte(wanted) {
		if !granted[permission] {
			return false
		}
	}
	return true
}

// permissions are those of one scope for Observations, as letters among cruds
// in this order; empty if it has none.
//
// Source: SMART App Launch 2, scopes for requesting FHIR resources; its
// version 1 has read, write and *.
func permissions(scope string) string {
	level, rest, _ := strings.Cut(scope, "/")
	resource, granted, _ := strings.Cut(rest, ".")
	if level != "system" && level != "user" || resource != "Observation" && resource != "*" {
		return ""
	}
	switch granted {
	case "read":
		return "rs"
	case "write":
		return "cud"
	case "*":
		return "cruds"
	}
	if !inOrder(granted, "cruds") {
		return ""
	}
	return granted
}

// inOrder reports whether the letters of a text are some of those of another,
// each once and in its order.
func inOrder(text, letters string) bool {
	for _, letter := range []byte(text) {
		i := strings.IndexByte(letters, letter)
		if i < 0 {
			return false
		}
		letters = letters[i+1:]
	}
	return true
}
