package service

import (
	"testing"

	"evenreach.example/internal/protocol"
)

func TestFindProtocol(t *testing.T) {
	named := func(id, version string) *protocol.Protocol { return &protocol.Protocol{ID: id, Version: version} }
	all := Protocols{named("clinic", "1.9"), named("clinic", "1.10"), named("clinic", "1.2"), named("other", "2")}
	tests := []struct {
		name string
		want *protocol.Protocol
	}{
		{"", all[0]},
		{"clinic", all[1]},
		{"clinic|1.2", all[2]},
		{"other", all[3]},
		{"other|2", all[3]},
		{"other|", nil},
		{"other|3", nil},
		{"nobody", nil},
	}
	for _, tt := range tests {
		if got := all.Find(tt.name); got != tt.want {
			t.Errorf("Find(%q) = %v, want %v", tt.name, got, tt.want)
		}
	}
}

func TestVersionsCompareAsNumbers(t *testing.T) {
	ascending := []string{"1", "1.0", "1.2", "1.9", "1.10", "1.10.1", "2", "2026-01", "draft"}
	for i := range ascending {
		for k := range ascending {
			got := compareVersions(ascending[i], ascending[k])
			if (got < 0) != (i < k) || (got == 0) != (i == k) {
				t.Errorf("compareVersions(%q, %q) = %d", ascending[i], ascending[k], got)
			}
		}
	}
}
