package plan

import "evenreach.example/internal/readiness"

// demandRequests ask at the re-check for what the demands of work and sport miss, as far as
// nothing else holds them; each once, and nothing that is asked for already.
func (b *builder) demandRequests(already []Request) (all []Request) {
	asked := map[Request]bool{}
	for i := range already {
		asked[subject(&already[i])] = true
	}
	for i := range b.r.Demands {
		d := &b.r.Demands[i]
		if len(d.Holds) > 0 {
			continue
		}
		for _, c := range d.Missing() {
			r, ok := requestOf(c)
			if ok && !asked[subject(&r)] {
				asked[subject(&r)] = true
				all = append(all, b.request(r))
			}
		}
	}
	return all
}

// subject is a request as far as it says what is asked for.
func subject(r *Request) Request {
	return Request{Ask: r.Ask, Motion: r.Motion, Position: r.Position, Movement: r.Movement, Outcome: r.Outcome}
}

// requestOf asks for a criterion of a demand. Pain and the date of a repair are asked for
// by functional work and by healing.
func requestOf(c *readiness.DemandCriterion) (Request, bool) {
	r := Request{Why: WhyDemand}
	switch c.Kind {
	case readiness.DemandIndex:
		r.Ask, r.Motion, r.Position = AskStrength, c.Motion, c.Position
	case readiness.DemandRange:
		r.Ask, r.Movement = AskRange, c.Movement
	case readiness.DemandMeasure:
		r.Ask, r.Outcome = AskOutcome, c.Outcome
	default:
		return Request{}, false
	}
	return r, true
}
