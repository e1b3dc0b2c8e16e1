package config

import (
	"math"
	"strconv"

	"evenreach.example/internal/service"
)

// Fairness is the configuration of what one client may take, as it was written.
type Fairness struct {
	ClientRate       string `name:"client-rate" env:"EVENREACH_CLIENT_RATE" default:"0" placeholder:"N" help:"Requests a second that one client may send in the long run; more get 429; 0 for no limit (${default})."`
	ClientBurst      string `name:"client-burst" env:"EVENREACH_CLIENT_BURST" default:"100" placeholder:"N" help:"Requests that it may send at once, if there is a rate (${default})."`
	ClientConcurrent string `name:"client-concurrent" env:"EVENREACH_CLIENT_CONCURRENT" default:"0" placeholder:"N" help:"Requests of one client that are answered at a time; more get 429; 0 for no limit (${default})."`
}

func (f Fairness) resolve(r *resolver) service.Fairness {
	rate, err := strconv.ParseFloat(f.ClientRate, 64)
	if err != nil || rate < 0 || math.IsInf(rate, 0) || math.IsNaN(rate) {
		r.report("client-rate", "found %q; expected a number of requests a second, or 0", f.ClientRate)
	}
	concurrent, err := strconv.Atoi(f.ClientConcurrent)
	if err != nil || concurrent < 0 {
		r.report("client-concurrent", "found %q; expected a whole number, or 0", f.ClientConcurrent)
	}
	return service.Fairness{Rate: rate, Burst: r.count("client-burst", f.ClientBurst), Concurrent: concurrent}
}
