package auth

import (
	"net/http"
	"strconv"
	"strings"
	"time"
)

// lifetime is how long an answer may be kept.
type lifetime struct {
	fresh  time.Duration // then it is renewed
	usable time.Duration // then it is dropped, if it could not be
}

const (
	// minUsable is the least time, even if the issuer says less: without it
	// every request would ask the issuer.
	minUsable = time.Minute
	maxUsable = 24 * time.Hour
	maxFresh  = time.Hour
)

// unstated is the lifetime if the issuer states none.
var unstated = lifetime{fresh: 5 * time.Minute, usable: time.Hour}

// lifetimeOf reads Cache-Control and Age. Keys are renewed at half their time,
// so that an issuer may be down for the other half; stale-if-error gives more.
//
// Source: RFC 9111, section 5.2.2; RFC 5861, section 4; SMART App Launch: key
// sets are not to be cached for longer than the header says.
func lifetimeOf(h http.Header) lifetime {
	stated := cacheControl(h)
	maxAge, limited := stated["max-age"]
	_, noStore := stated["no-store"]
	_, noCache := stated["no-cache"]
	switch {
	case noStore || noCache:
		return lifetime{minUsable / 2, minUsable}
	case !limited:
		return unstated
	}
	life := min(max(maxAge-seconds(h.Get("Age")), minUsable), maxUsable)
	return lifetime{
		fresh:  min(life/2, maxFresh),
		usable: min(life+stated["stale-if-error"], maxUsable),
	}
}

// cacheControl are the directives of Cache-Control, each with its seconds if
// it has some.
func cacheControl(h http.Header) map[string]time.Duration {
	directives := map[string]time.Duration{}
	for directive := range strings.SplitSeq(strings.Join(h.Values("Cache-Control"), ","), ",") {
		name, value, _ := strings.Cut(strings.ToLower(strings.TrimSpace(directive)), "=")
		directives[name] = seconds(strings.Trim(value, `"`))
	}
	return directives
}

// seconds reads a number of seconds: none if it is malformed, and at most
// maxUsable.
func seconds(text string) time.Duration {
	n, err := strconv.ParseUint(text, 10, 63)
	if err != nil {
		return 0
	}
	return time.Duration(min(n, uint64(maxUsable/time.Second))) * time.Second
}
