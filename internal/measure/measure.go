package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Measurements is everything that is computed from the trials of an episode
// before anything is decided. All lists are in the order of the sessions.
type Measurements struct {
	Scores     []Score
	Doubts     []DoubtFound
	Symmetries []Symmetry
	Unpaired   []Unpaired
	Ranges     []RangeScore
	Pains      []PainScore
	// ComparisonPains are of the comparison shoulder, which is taken as free of pain
	// where none is recorded.
	ComparisonPains []PainScore
	Outcomes        []OutcomeScore
	Changes         []Change
	Ratios          []Ratio
}

// Measure computes the measurements of an episode.
func Measure(e *shoulder.Episode, p *protocol.Protocol) *Measurements {
	m := &Measurements{Scores: Scores(e, p), Ranges: Ranges(e, p), Pains: Pains(e), ComparisonPains: ComparisonPains(e), Outcomes: Outcomes(e, p)}
	findUnlike(m.Scores)
	m.Doubts = findDoubts(e, m.Scores, p)
	m.Symmetries, m.Unpaired = Symmetries(e, m.Scores, p)
	m.Changes = Changes(e, m, p)
	m.Ratios = Ratios(m.Scores, p)
	return m
}

// UpTo is what the red flags of an earlier session are found in: the scores, symmetries, ranges
// and pains up to and including it. None of them depends on what was measured later, so that they
// are those of Measure on the episode that ends there. What is of the latest session, such as the
// changes and a comparison side that declined, is left out.
func (m *Measurements) UpTo(session int) *Measurements {
	return &Measurements{
		Scores:     upTo(m.Scores, session, func(s *Score) int { return s.Session }),
		Symmetries: upTo(m.Symmetries, session, func(s *Symmetry) int { return s.Session }),
		Ranges:     upTo(m.Ranges, session, func(r *RangeScore) int { return r.Session }),
		Pains:      upTo(m.Pains, session, func(p *PainScore) int { return p.Session }),
	}
}

// upTo is the part of a list in the order of the sessions up to and including one.
func upTo[Result any](all []Result, session int, of func(*Result) int) []Result {
	n := len(all)
	for n > 0 && of(&all[n-1]) > session {
		n--
	}
	return all[:n]
}

// Ratio is external over internal rotation strength of one side in one position, both
// tested the same way in the same session. It is shown with a published band and decides
// nothing, because it varies by up to 0.3 with position, posture and mode.
type Ratio struct {
	External, Internal *Score
	Value              exact.Number
	Band               protocol.Band
	Relation           BandRelation
}

// BandRelation is where a ratio lies with respect to its published band.
type BandRelation uint8

// The relations to a band.
const (
	WithinBand BandRelation = iota
	BelowBand
	AboveBand
)

// String names the relation.
func (r BandRelation) String() string { return [...]string{"within", "below", "above"}[r] }

// Sources lists the inputs of both rotations, ascending.
func (r *Ratio) Sources() []shoulder.SourceID { return Union(r.External.Sources, r.Internal.Sources) }

// Ratios computes the external to internal rotation ratio of every session,
// side and position in which both were tested alike.
func Ratios(scores []Score, p *protocol.Protocol) []Ratio {
	var ratios []Ratio
	for i := range scores {
		external := &scores[i]
		if external.Motion != shoulder.External || external.Doubts.Block() {
			continue
		}
		wanted := external.Setting
		wanted.Motion = shoulder.Internal
		for j := i + 1; j < len(scores) && scores[j].Session == external.Session; j++ {
			internal := &scores[j]
			if internal.Setting == wanted && internal.believed() && internal.Side == external.Side && internal.Dimension == external.Dimension {
				if r, ok := ratioOf(external, internal, p); ok {
					if ratios == nil {
						ratios = make([]Ratio, 0, len(scores)/2) // each is of two scores
					}
					ratios = append(ratios, r)
				}
			}
		}
	}
	return ratios
}

func ratioOf(external, internal *Score, p *protocol.Protocol) (Ratio, bool) {
	value, ok := external.Value.Quo(internal.Value)
	if !ok {
		return Ratio{}, false
	}
	r := Ratio{External: external, Internal: internal, Value: value, Band: p.Ratio.At(external.Position)}
	switch {
	case value.Cmp(r.Band.Low) < 0:
		r.Relation = BelowBand
	case value.Cmp(r.Band.High) > 0:
		r.Relation = AboveBand
	}
	return r, true
}
