package service

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/protocol"
)

// Protocols are the loaded protocols; the first is the default. There is at
// least one.
type Protocols []*protocol.Protocol

// Find returns the protocol of a name such as "id" or "id|version", or nil. The
// empty name is the default's. Without a version the latest one is returned.
func (all Protocols) Find(name string) *protocol.Protocol {
	if name == "" {
		return all[0]
	}
	id, version, stated := strings.Cut(name, "|")
	var found *protocol.Protocol
	for _, p := range all {
		if p.ID != id || stated && p.Version != version {
			continue
		}
		if found == nil || compareVersions(p.Version, found.Version) > 0 {
			found = p
		}
	}
	return found
}

// names lists the loaded protocols, for an error text.
func (all Protocols) names() string {
	names := make([]string, len(all))
	for i, p := range all {
		names[i] = protocolName(p)
	}
	return strings.Join(names, ", ")
}

// protocolName is id and version as a caller writes them.
func protocolName(p *protocol.Protocol) string { return p.ID + "|" + p.Version }

// compareVersions compares the parts between dots, as numbers where both are
// numbers: 1.10 is later than 1.9.
func compareVersions(a, b string) int {
	return slices.CompareFunc(strings.Split(a, "."), strings.Split(b, "."), compareParts)
}

func compareParts(a, b string) int {
	na, errA := strconv.Atoi(a)
	nb, errB := strconv.Atoi(b)
	if errA == nil && errB == nil {
		return cmp.Compare(na, nb)
	}
	return cmp.Compare(a, b)
}
