package report

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// visit builds one session of an invented patient whose right shoulder is the
// involved one.
type visit struct {
	session shoulder.Session
	sources *shoulder.SourceID
}

// newEpisode builds an invented episode of a right shoulder.
func newEpisode(visits ...func(*visit)) *shoulder.Episode {
	e := &shoulder.Episode{Involved: shoulder.Right}
	source := shoulder.SourceID(0)
	for _, build := range visits {
		v := visit{sources: &source}
		build(&v)
		e.Sessions = append(e.Sessions, v.session)
	}
	return e
}

func day(date string) time.Time {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		panic(err)
	}
	return t.Add(10 * time.Hour)
}

func (v *visit) on(date string) { v.session.When = day(date) }

func (v *visit) next() shoulder.SourceID {
	*v.sources++
	return *v.sources - 1
}

// force adds make tests with a hand-held dynamometer: the trials of the right,
// then of the left side, in newtons.
func (v *visit) force(r shoulder.Motion, p shoulder.ArmPosition, right, left []string) {
	v.trials(r, p, shoulder.Right, right)
	v.trials(r, p, shoulder.Left, left)
}

func (v *visit) trials(r shoulder.Motion, p shoulder.ArmPosition, side shoulder.Side, trials []string) {
	support := shoulder.SupportUnstated
	if p.Elevated() {
		support = shoulder.Supported
	}
	for _, newtons := range trials {
		v.session.Trials = append(v.session.Trials, shoulder.Trial{
			Source: v.next(), Motion: r, Position: p, Support: support, Side: side,
			Contraction: shoulder.Make, Instrument: shoulder.Handheld, Value: exact.MustParse(newtons),
		})
	}
}

func (v *visit) active(m shoulder.Movement, right, left string) {
	for side, degrees := range [...]string{shoulder.Right: right, shoulder.Left: left} {
		if degrees != "" {
			v.session.Ranges = append(v.session.Ranges, shoulder.Range{
				Source: v.next(), Movement: m, Side: shoulder.Side(side), Active: true, Degrees: exact.MustParse(degrees), Examiner: 1,
			})
		}
	}
}

func (v *visit) pain(k shoulder.PainContext, score string) {
	v.session.Pains = append(v.session.Pains, shoulder.Pain{Source: v.next(), Context: k, Score: exact.MustParse(score)})
}

func (v *visit) steady(p shoulder.ArmPosition, steady bool) {
	v.session.Steady = append(v.session.Steady, shoulder.Steadiness{Source: v.next(), Position: p, Side: shoulder.Right, Steady: steady})
}
