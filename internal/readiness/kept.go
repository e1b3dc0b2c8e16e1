package readiness

import (
	"slices"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// stepBefore is the step of a rotation in the latest session in which every position
// that is kept was good enough. What is kept opens nothing that was not open then.
func (j *judge) stepBefore(r *MotionReadiness) Step {
	session := len(j.episode.Sessions)
	for i := range r.Positions {
		if kept := r.Positions[i].Kept; kept != nil {
			session = min(session, kept.Session)
		}
	}
	if j.before || session == len(j.episode.Sessions) {
		return NoStep
	}
	before := j.judgeAt(session)
	return before.Motions[r.Motion-shoulder.External].Step
}

// stepBeforeChange is the step of a rotation before the way of testing changed. What was
// open then and no longer is by itself stays closed.
func (j *judge) stepBeforeChange(of *Readiness, r *MotionReadiness) Step {
	if j.before {
		return StepAtSide
	}
	at := slices.IndexFunc(of.Concerns, func(c Concern) bool { return c.Kind == BothSidesFell })
	before := j.judgeAt(of.Concerns[at].Fell.Then.Session)
	return max(StepAtSide, min(before.Motions[r.Motion-shoulder.External].Step, StepAbduction90Unsupported))
}

// easedIfAllFell is a kept step, or the position below it if no position up to there is
// good enough any more. One test of several that falls within its error is likely noise;
// when all of them fall at once a lighter exercise costs little until they are repeated.
func (r *MotionReadiness) easedIfAllFell(kept Step) Step {
	if kept.Position() == shoulder.AtSide {
		return kept
	}
	for i := range r.Positions {
		if p := &r.Positions[i]; p.Position <= kept.Position() && p.goodEnough() {
			return kept
		}
	}
	return stepAt(kept.Position()-1, false)
}

// judgeAt judges the episode as it was in a session. There what was kept still
// earlier counts as not good enough, so that it goes back only once.
func (j *judge) judgeAt(session int) *Readiness {
	e := j.upTo(session)
	earlier := judge{episode: e, m: measure.Measure(e, j.p), p: j.p, asOf: e.Sessions[session].When, before: true}
	return earlier.judge(nil)
}

// upTo is the episode up to and including a session.
func (j *judge) upTo(session int) *shoulder.Episode {
	e := *j.episode
	e.Sessions = e.Sessions[:session+1]
	return &e
}
