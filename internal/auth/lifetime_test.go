package auth

import (
	"net/http"
	"testing"
	"time"
)

func TestLifetime(t *testing.T) {
	tests := []struct {
		name         string
		cacheControl []string
		age          string
		want         lifetime
		source       string
	}{
		{"unstated", nil, "", lifetime{5 * time.Minute, time.Hour}, "the issuer leaves it to the cache"},
		{"other directives", []string{"public, must-revalidate"}, "", unstated, "no time is stated"},
		{"ten minutes", []string{"public, max-age=600"}, "", lifetime{5 * time.Minute, 10 * time.Minute}, "RFC 9111, 5.2.2.1"},
		{"quoted", []string{`max-age="600"`}, "", lifetime{5 * time.Minute, 10 * time.Minute}, "RFC 9111, 5.2: quoted form"},
		{"another case", []string{"Max-Age=600"}, "", lifetime{5 * time.Minute, 10 * time.Minute}, "RFC 9111, 5.2"},
		{"two lines", []string{"public", "max-age=600"}, "", lifetime{5 * time.Minute, 10 * time.Minute}, "RFC 9110, 5.3"},
		{"in a cache before", []string{"max-age=600"}, "480", lifetime{time.Minute, 2 * time.Minute}, "RFC 9111, 4.2.3"},
		{"stale on error", []string{"max-age=600, stale-if-error=1200"}, "", lifetime{5 * time.Minute, 30 * time.Minute}, "RFC 5861, 4"},
		{"not to be stored", []string{"no-store"}, "", lifetime{30 * time.Second, time.Minute}, "our least time"},
		{"not to be stored whatever else", []string{"no-cache, max-age=600"}, "", lifetime{30 * time.Second, time.Minute}, "our least time"},
		{"no time", []string{"max-age=0"}, "", lifetime{30 * time.Second, time.Minute}, "our least time"},
		{"older than its time", []string{"max-age=600"}, "9999", lifetime{30 * time.Second, time.Minute}, "our least time"},
		{"malformed", []string{"max-age=-5"}, "", lifetime{30 * time.Second, time.Minute}, "RFC 9111, 4.2.1: stale"},
		{"a year", []string{"max-age=31536000"}, "", lifetime{time.Hour, 24 * time.Hour}, "our longest time"},
		{"more than fits", []string{"max-age=9223372036854775807"}, "", lifetime{time.Hour, 24 * time.Hour}, "RFC 9111, 1.2.2"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := http.Header{"Cache-Control": tt.cacheControl}
			if tt.age != "" {
				h.Set("Age", tt.age)
			}
			if got := lifetimeOf(h); got != tt.want {
				t.Errorf("lifetime %v, want %v (%s)", got, tt.want, tt.source)
			}
		})
	}
}
