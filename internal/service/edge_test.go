package service

import (
	"net/http"
	"testing"

	"google.golang.org/grpc/codes"

	"evenreach.example/internal/fault"
)

func TestEveryKindHasARow(t *testing.T) {
	for _, kind := range fault.Kinds() {
		row, ok := edge[kind]
		if !ok {
			t.Errorf("kind %s has no row in the edge table", kind)
			continue
		}
		if row.http < 400 || http.StatusText(row.http) == "" {
			t.Errorf("kind %s is answered with status %d, want an error status", kind, row.http)
		}
		if row.grpc == codes.OK || row.grpc == codes.Unknown || row.grpc > codes.Unauthenticated {
			t.Errorf("kind %s is answered with code %v, want an error code", kind, row.grpc)
		}
	}
	if len(edge) != len(fault.Kinds()) {
		t.Errorf("the edge table has %d rows for %d kinds", len(edge), len(fault.Kinds()))
	}
}

// Who may try again is decided by the class of a status: a caller repeats what
// failed with 5xx and not what failed with 4xx.
func TestOnlyOurFaultsInviteARepetition(t *testing.T) {
	ours := map[fault.Kind]bool{fault.Internal: true, fault.Unavailable: true, fault.Timeout: true}
	for kind, row := range edge {
		if (row.http >= 500) != ours[kind] {
			t.Errorf("kind %s is answered with status %d", kind, row.http)
		}
	}
}
