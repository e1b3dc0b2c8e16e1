package service

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain finds what tests leave running. Before net/http closes a connection whose request it gave up, it sleeps
// for half a second, so that the caller can read the refusal; goleak does not wait so long, and http.Server.Close does
// not end it. Whether it still sleeps at the end depends on which test is the last.
func TestMain(m *testing.M) {
	goleak.VerifyTestMain(m, goleak.IgnoreAnyFunction("net/http.(*conn).closeWriteAndWait"))
}
