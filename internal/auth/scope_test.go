package auth

import "testing"

// Source: SMART App Launch 2, scopes for requesting FHIR resources, where not
// said otherwise.
func TestScope(t *testing.T) {
	tests := []struct {
		name  string
		scope string
		want  bool
	}{
		{"version 2", "system/Observation.rs", true},
		{"more permissions", "system/Observation.cruds", true},
		{"version 1", "system/Observation.read", true},
		{"version 1, everything", "system/*.*", true},
		{"every resource", "system/*.rs", true},
		{"for a user", "user/Observation.rs", true},
		{"among others", "openid system/Patient.rs  system/Observation.rs", true},
		{"in two parts", "system/Observation.r system/Observation.s", true},
		{"read without search", "system/Observation.r", false},
		{"search without read", "system/Observation.s", false},
		{"write", "system/Observation.write", false},
		{"none", "", false},
		{"another resource", "system/Patient.rs", false},
		{"a resource whose name begins so", "system/ObservationX.rs", false},
		{"one patient", "patient/Observation.rs", false},
		{"out of order", "system/Observation.sr", false},
		{"a letter twice", "system/Observation.rrs", false},
		{"unknown letter", "system/Observation.rsx", false},
		{"narrowed by a query", "system/Observation.rs?category=laboratory", false},
		{"another case", "System/observation.RS", false},
		{"no permission", "system/Observation", false},
		{"nothing before the slash", "/Observation.rs", false},
		{"path", "system/../system/Observation.rs", false},
		{"separated by commas", "system/Patient.rs,system/Observation.rs", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := covers(tt.scope); got != tt.want {
				t.Errorf("covers(%q) = %v, want %v", tt.scope, got, tt.want)
			}
		})
	}
}
