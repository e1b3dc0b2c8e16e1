package service

import "github.com/google/uuid"

// requestIDHeader is the name of the request's id, in HTTP and in the metadata
// of gRPC.
const requestIDHeader = "x-request-id"

// maxRequestID bounds an id that a caller gives.
const maxRequestID = 64

// requestID is the caller's id of a request if it is fit for a log, else a new
// one.
func requestID(given string) string {
	if !isRequestID(given) {
		return uuid.NewString()
	}
	return given
}

// isRequestID reports whether an id is short and consists of letters, digits and marks
// that have no meaning in a log or a header.
func isRequestID(id string) bool {
	if id == "" || len(id) > maxRequestID {
		return false
	}
	for _, c := range []byte(id) {
		letter := 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z'
		digit := '0' <= c && c <= '9'
		if !letter && !digit && c != '-' && c != '_' && c != '.' {
			return false
		}
	}
	return true
}
