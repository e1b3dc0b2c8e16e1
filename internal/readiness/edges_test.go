package readiness

import (
	"slices"
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// alter changes one session of an episode.
type alter func(*shoulder.Session)

func motionOf(m shoulder.Movement, side shoulder.Side, active bool, degrees string) alter {
	return func(s *shoulder.Session) {
		s.Ranges = append(s.Ranges, shoulder.Range{Source: next(), Movement: m, Side: side, Active: active, Degrees: exact.MustParse(degrees)})
	}
}

func hurts(side shoulder.Side, c shoulder.PainContext, score string) alter {
	return func(s *shoulder.Session) {
		s.Pains = append(s.Pains, shoulder.Pain{Source: next(), Side: side, Context: c, Score: exact.MustParse(score)})
	}
}

// abduct is abduction strength of both sides in one position, the other side's 100 N.
func abduct(p shoulder.ArmPosition, newtons string) alter {
	return func(s *shoulder.Session) {
		for range 3 {
			for side, value := range map[shoulder.Side]string{shoulder.Right: newtons, shoulder.Left: "100"} {
				s.Trials = append(s.Trials, shoulder.Trial{
					Source: next(), Motion: shoulder.AbductionMotion, Position: p, Side: side, Contraction: shoulder.Make,
					Instrument: shoulder.Handheld, Value: exact.MustParse(value),
				})
			}
		}
	}
}

// altered is visits whose last one is changed.
func altered(changes []alter, visits ...visit) *shoulder.Episode {
	e := episode(visits...)
	for _, change := range changes {
		change(&e.Sessions[len(e.Sessions)-1])
	}
	return e
}

// ofKind keeps the concerns of one kind.
func ofKind(kind ConcernKind, r *Readiness) (some []Concern) {
	for _, c := range r.Concerns {
		if c.Kind == kind {
			some = append(some, c)
		}
	}
	return some
}

// Which of several measurements a concern is about. Each case is two visits, the first of them whole.
func TestWhatAConcernIsAbout(t *testing.T) {
	const flexed, abducted = shoulder.Flexion, shoulder.Abduction
	tests := []struct {
		name    string
		edit    func(last *visit)
		changes []alter
		kind    ConcernKind
		shown   string // degrees, points or per cent of the only concern of the kind; "" for none
		why     string
	}{
		{"abduction alone", func(v *visit) { v.Flexion = "" }, []alter{motionOf(abducted, shoulder.Right, false, "140")}, RangesContradict, "140", "each movement is looked at"},

		{"flexion and abduction fell, abduction more", func(v *visit) { v.Flexion, v.Abduction = "150", "145" }, nil, RangeFell, "145", "the larger fall"},
		{"flexion and abduction fell, flexion more", func(v *visit) { v.Flexion, v.Abduction = "145", "150" }, nil, RangeFell, "145", "the larger fall"},
		{"abduction fell, flexion was not measured", func(v *visit) { v.Flexion, v.Abduction = "", "150" }, nil, RangeFell, "150", "each movement is looked at"},
		{"flexion flagged, abduction fell", func(v *visit) { v.Flexion, v.Abduction = "130", "150" }, nil, RangeFell, "150", "a red flag says the other already"},

		{"other shoulder 6, then 8 in the test", nil, []alter{hurts(shoulder.Left, shoulder.PainDuringResistedTest, "6"), hurts(shoulder.Left, shoulder.PainDuringResistedTest, "8")}, ComparisonPainful, "8", "the worst of a session"},
		{"other shoulder 8, then 6 in the test", nil, []alter{hurts(shoulder.Left, shoulder.PainDuringResistedTest, "8"), hurts(shoulder.Left, shoulder.PainDuringResistedTest, "6")}, ComparisonPainful, "8", "the worst of a session"},
		{"other shoulder 8 as the worst of the day, 1 in the test", nil, []alter{hurts(shoulder.Left, shoulder.PainWorst24h, "8"), hurts(shoulder.Left, shoulder.PainDuringResistedTest, "1")}, ComparisonPainful, "", "it was not at the test"},
		{"other shoulder 8 as the worst of the day, 1 at rest", nil, []alter{hurts(shoulder.Left, shoulder.PainWorst24h, "8"), hurts(shoulder.Left, shoulder.PainAtRest, "1")}, ComparisonPainful, "", "it need not have been at the test"},
		{"other shoulder 8 as the worst of the day alone", nil, []alter{hurts(shoulder.Left, shoulder.PainWorst24h, "8")}, ComparisonPainful, "8", "nobody said that the test was free of it"},
		{"other shoulder 5 as the worst of the day alone", nil, []alter{hurts(shoulder.Left, shoulder.PainWorst24h, "5")}, ComparisonPainful, "", "5 of 10 is within the limit of the gate"},

		{"abduction at 50 % and at 30 %", nil, []alter{abduct(shoulder.AtSide, "50"), abduct(shoulder.Scaption90, "30")}, WeakElsewhere, "30", "the weakest"},
		{"abduction at 30 % and at 50 %", nil, []alter{abduct(shoulder.AtSide, "30"), abduct(shoulder.Scaption90, "50")}, WeakElsewhere, "30", "the weakest"},
		{"abduction with the arm lifted alone", nil, []alter{abduct(shoulder.Scaption90, "30")}, WeakElsewhere, "30", "each position is looked at"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			last := complete(14, "100")
			if tt.edit != nil {
				tt.edit(&last)
			}
			found := ofKind(tt.kind, judged(altered(tt.changes, complete(0, "100"), last)))
			var shown []string
			for _, c := range found {
				switch tt.kind {
				case RangesContradict:
					shown = append(shown, c.Then.Value.String())
				case WeakElsewhere:
					shown = append(shown, c.Index.Index.String())
				default:
					shown = append(shown, c.Now.Value.String())
				}
			}
			want := []string{tt.shown}
			if tt.shown == "" {
				want = nil
			}
			if !slices.Equal(shown, want) {
				t.Errorf("shown %q, want %q (by definition: %s)", shown, want, tt.why)
			}
		})
	}
}

// Of two passive ranges of a day the lower one is held against the active one: either may be the slip.
func TestTheLowerPassiveRangeOfADay(t *testing.T) {
	for _, of := range [][2]string{{"90", "175"}, {"175", "90"}} {
		first, again := complete(14, "100"), visit{Day: 14}
		first.PassiveFlexion, again.PassiveFlexion = of[0], of[1]
		found := ofKind(RangesContradict, judged(episode(complete(0, "100"), first, again)))
		if len(found) != 1 || found[0].Movement != shoulder.Flexion || found[0].Then.Value.String() != "90" {
			t.Errorf("%v: %+v, want 170 against 90 degrees of flexion", of, found)
		}
	}
}

// A red flag of a movement says that it fell, also if it cannot be lifted.
func TestAFlaggedMovementIsNoConcernBeside(t *testing.T) {
	first, last := complete(0, "100"), complete(14, "100")
	first.Flexion, last.Flexion, last.PassiveFlexion = "110", "85", "150"
	r := judged(episode(first, last))
	if len(r.Flags) != 1 || r.Flags[0].Code != redflag.CannotLift || len(ofKind(RangeFell, r)) != 0 {
		t.Errorf("flags %v, concerns %q; want an arm that cannot be lifted, and no fall beside it (by hand: 25 degrees)", r.Flags, kinds(r))
	}
}

// An old weakness of a motion without steps is no concern of today.
func TestWhatWasWeakLongAgoIsNoConcern(t *testing.T) {
	e := episode(complete(0, "100"), complete(50, "100"))
	abduct(shoulder.AtSide, "30")(&e.Sessions[0])
	if found := ofKind(WeakElsewhere, judged(e)); len(found) != 0 {
		t.Errorf("%+v, want none (protocol: 42 days)", found)
	}
}

// Another way of testing: by what both sides fell, and which test is shown.
func TestTheFallOfBothSides(t *testing.T) {
	tests := []struct {
		name        string
		right, left string // newtons of the last visit, by another instrument
		edit        func(first, last *visit)
		want        string // newtons of the test that fell most; "" for no concern
	}{
		{"both by the limit", "60", "60", nil, "60"},
		{"the involved side by less", "61", "40", nil, ""},
		{"the other side by less", "40", "61", nil, ""},
		{"one test more than the others", "50", "50", func(_, last *visit) { last.ER[1] = "45" }, "45"},
		{"a test that is new", "50", "50", func(first, _ *visit) { first.ER[0] = "" }, "50"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			first, last := complete(0, "100"), complete(14, tt.right)
			last.Belt, last.LeftER, last.LeftIR = true, all(tt.left), all(tt.left)
			if tt.edit != nil {
				tt.edit(&first, &last)
			}
			found := ofKind(BothSidesFell, judged(episode(first, last)))
			if (len(found) == 1) != (tt.want != "") || tt.want != "" && found[0].Fell.Now.Value.String() != tt.want {
				t.Errorf("%+v, want a fall to %q N (protocol: 40 %% of 100 N on average)", found, tt.want)
			}
		})
	}
}

// Positions whose steadiness was lost between other days are concerns of their own.
func TestWhenSteadinessWasLost(t *testing.T) {
	both := []shoulder.ArmPosition{flexion, abduction}
	three := func(first, second, third []shoulder.ArmPosition) *Readiness {
		a, b, c := complete(0, "100"), complete(14, "100"), complete(28, "100")
		a.Steady, b.Steady, c.Unsteady = first, second, third
		return judged(episode(a, b, c))
	}
	if found := ofKind(SteadinessLost, three(both, both, both)); len(found) != 1 || len(found[0].Positions) != 2 || !found[0].Then.When.Equal(day(14)) {
		t.Errorf("%+v, want one of both positions since day 14", found)
	}
	if found := ofKind(SteadinessLost, three(both, both[1:], both)); len(found) != 2 || !found[0].Then.When.Equal(day(0)) || !found[1].Then.When.Equal(day(14)) {
		t.Errorf("%+v, want two, since day 0 and since day 14", found)
	}
	if found := ofKind(SteadinessLost, three(both[:1], nil, both[1:])); len(found) != 0 {
		t.Errorf("%+v, want none: that position was never held steady", found)
	}
	e := episode(complete(0, "100"), complete(14, "100"))
	e.Sessions[0].Steady = []shoulder.Steadiness{{Position: flexion, Side: shoulder.Left, Steady: true}, {Position: abduction, Side: shoulder.Right}}
	e.Sessions[1].Steady = []shoulder.Steadiness{{Position: flexion, Side: shoulder.Right}, {Position: abduction, Side: shoulder.Right}}
	if found := ofKind(SteadinessLost, judged(e)); len(found) != 0 {
		t.Errorf("%+v, want none: the other side, and an arm that was never held steady", found)
	}
}

// The visit before is one of another day, and may be the first there is.
func TestTheVisitBeforeOneThatIsWhole(t *testing.T) {
	bad := complete(0, "100")
	bad.RestPain = "8"
	if got := kinds(judged(episode(bad, complete(14, "100")))); got != "flag-unexamined" {
		t.Errorf("two visits: %q, want flag-unexamined", got)
	}
	if got := kinds(judged(episode(bad, complete(14, "100"), complete(14, "100")))); got != "flag-unexamined" {
		t.Errorf("two tests of the last day: %q, want flag-unexamined", got)
	}
}

// Doubts about the whole of a session keep every step closed; others do not.
func TestWhichDoubtsLeaveASessionOpen(t *testing.T) {
	for doubt, want := range map[measure.Doubt]bool{
		measure.UnitMayBeWrong: true, measure.SidesMayBeSwapped: true, measure.TrialsDisagree: false, measure.ComparisonDeclined: false,
	} {
		r := Readiness{Doubts: []*measure.DoubtFound{{Doubt: doubt}}}
		if got := r.SessionOpen(); got != want {
			t.Errorf("%v: open %v, want %v", doubt, got, want)
		}
	}
}

// Nothing is opened by a doubt and a concern together that each would keep closed.
func TestADoubtBesideAConcern(t *testing.T) {
	r := judged(episode(complete(0, "100"), complete(14, "100")))
	if !r.functionOpen() {
		t.Fatal("functional work is closed, want open")
	}
	r.Doubts, r.Concerns = []*measure.DoubtFound{{}}, []Concern{{}}
	if r.functionOpen() {
		t.Error("functional work is open beside a doubt and a concern")
	}
}

// What could not be read may forbid load: of an incomplete record nothing above the arm at the side is opened, and
// nothing is said to come next.
func TestAnIncompleteRecord(t *testing.T) {
	e := episode(complete(0, "100"), complete(14, "100"))
	e.Incomplete = true
	r := judged(e)
	external := r.Motions[0]
	if r.Overall != InsufficientData || external.Working() != shoulder.AtSide || len(external.Holding) != 0 {
		t.Errorf("%v, step %v, held by %v; want too little data, at the side, and no next step", r.Overall, external.Step, external.Holding)
	}
	e.Repairs = []shoulder.Repair{{Source: next(), Side: shoulder.Right, Date: day(-7)}}
	if r := judged(e); r.Motions[0].Step != NoStep || len(r.Motions[0].Holding) != 1 || r.Motions[0].Holding[0].Rule != TissueHealed {
		t.Errorf("after a repair step %v, held by %v; want none, by the repair", r.Motions[0].Step, r.Motions[0].Holding)
	}
}

// The step, what comes next, and what is worked at beside.
func TestStepsAndWhatHoldsThem(t *testing.T) {
	tests := []struct {
		name    string
		er      [3]string
		working shoulder.ArmPosition
		next    Step
		holding []shoulder.ArmPosition // of the criteria good enough that hold
		beside  []shoulder.ArmPosition
	}{
		{"60 % everywhere", all("60"), shoulder.AtSide, StepFlexion90Supported, []shoulder.ArmPosition{shoulder.AtSide}, nil},
		{"60 % at the side alone", [3]string{"60", "80", "80"}, shoulder.AtSide, StepFlexion90Supported, []shoulder.ArmPosition{shoulder.AtSide}, nil},
		{"60 % in flexion", [3]string{"80", "60", "60"}, flexion, StepAbduction90Supported, []shoulder.ArmPosition{flexion}, []shoulder.ArmPosition{shoulder.AtSide}},
		{"80 % everywhere", all("80"), abduction, StepFunctional, nil, []shoulder.ArmPosition{shoulder.AtSide, flexion}},
		{"80 % in abduction alone", [3]string{"100", "100", "80"}, abduction, StepFunctional, nil, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := complete(0, "100")
			v.ER = tt.er
			r := judged(episode(v)).Motions[0]
			var held []shoulder.ArmPosition
			for _, c := range r.Holding {
				if c.Rule == GoodEnough {
					held = append(held, c.Position)
				}
			}
			if r.Working() != tt.working || r.Next != tt.next || !slices.Equal(held, tt.holding) || !slices.Equal(r.Beside, tt.beside) {
				t.Errorf("working at %v, next %v held by %v, beside %v; want %v, %v, %v, %v (protocol: 75 %%, even from 90 %%)",
					r.Working(), r.Next, held, r.Beside, tt.working, tt.next, tt.holding, tt.beside)
			}
			if r.PainHolds {
				t.Error("pain holds at 1 of 10")
			}
		})
	}
	v := complete(0, "80")
	v.Pain = "6"
	if r := judged(episode(v)).Motions[0]; !r.PainHolds {
		t.Error("pain does not hold at 6 of 10 (protocol: over 5)")
	}
}

// Of several positions that fell the lowest is where the step went back to.
func TestTheLowestPositionThatFellIsNamed(t *testing.T) {
	r := judged(episode(complete(0, "95"), complete(14, "40"))).Motions[0]
	if r.SteppedBack == nil || r.SteppedBack.Position != shoulder.AtSide || r.Positions[2].FellFrom == nil {
		t.Errorf("stepped back to %+v, want the arm at the side", r.SteppedBack)
	}
}

// Both criteria of the range join into one.
func TestRangeVerdictJoinsBoth(t *testing.T) {
	for _, c := range []struct{ fraction, minimum, want Verdict }{
		{Met, Met, Met}, {Met, NotMet, NotMet}, {Met, NotMeasured, NotMeasured}, {NotMet, Met, NotMet}, {NotMet, NotMeasured, NotMet},
		{NotMeasured, NotMet, NotMeasured}, {NotApplicable, NotApplicable, NotApplicable},
	} {
		p := PositionReadiness{Range: Criterion{Verdict: c.fraction}, RangeMinimum: Criterion{Verdict: c.minimum}}
		if got := p.RangeVerdict(); got != c.want {
			t.Errorf("%v and %v: %v, want %v", c.fraction, c.minimum, got, c.want)
		}
	}
}

// A fact is certain either way, and a manual grade never quite.
func TestCertaintiesGoWithTheirVerdicts(t *testing.T) {
	good, bad := episode(complete(0, "100"), complete(14, "100")), episode(visit{Day: 0, ER: all("60"), IR: all("60")}, visit{Day: 14, ER: all("60"), IR: all("60"), RestPain: "5", Pain: "5"})
	for i, e := range []*shoulder.Episode{good, bad} {
		f := judged(e).Function
		for _, c := range []*Criterion{&f.AllMeasured, &f.AllEven, &f.RestPain, &f.TestPain} {
			want, certain := Met, measure.ClearlyMet
			if i == 1 {
				want, certain = NotMet, measure.ClearlyNot
			}
			if c.Verdict != want || c.Certainty != certain {
				t.Errorf("%v: %v, %v; want %v, %v", c.Rule, c.Verdict, c.Certainty, want, certain)
			}
		}
	}
	for grade, want := range map[shoulder.MuscleGrade]measure.Certainty{shoulder.Grade5: measure.ProbablyMet, shoulder.Grade3: measure.ProbablyNot} {
		v := visit{Day: 0, Grades: [3]shoulder.MuscleGrade{grade, grade, grade}}
		if got := judged(episode(v)).Motions[0].Positions[0].GoodEnough.Certainty; got != want {
			t.Errorf("grade %v: %v, want %v", grade, got, want)
		}
	}
	for _, steady := range []bool{true, false} {
		v, want := complete(0, "95"), measure.ClearlyNot
		if v.Unsteady = []shoulder.ArmPosition{flexion}; steady {
			v.Steady, v.Unsteady, want = v.Unsteady, nil, measure.ClearlyMet
		}
		if got := judged(episode(v)).Motions[0].Positions[1].Steady.Certainty; got != want {
			t.Errorf("steady %v: %v, want %v", steady, got, want)
		}
	}
}

// The other arm's steadiness says nothing.
func TestSteadinessOfTheOtherArm(t *testing.T) {
	e := episode(complete(0, "95"))
	e.Sessions[0].Steady = []shoulder.Steadiness{{Position: flexion, Side: shoulder.Left}, {Position: abduction, Side: shoulder.Right, Steady: true}}
	of := judged(e).Motions[0].Positions
	if of[1].Steady.Verdict != NotMeasured || of[2].Steady.Verdict != Met {
		t.Errorf("flexion %v, abduction %v; want not measured and met", of[1].Steady.Verdict, of[2].Steady.Verdict)
	}
}

// Evenness of all tests is told by the strengths of the trained motions before the latest visit.
func TestSourcesOfEvennessOfAllTests(t *testing.T) {
	e := episode(complete(0, "100"), complete(14, "100"), complete(28, "100"))
	for i := range e.Sessions {
		abduct(shoulder.AtSide, "95")(&e.Sessions[i])
	}
	var want []shoulder.SourceID
	for _, s := range e.Sessions[:2] {
		for _, x := range s.Trials {
			if x.Motion.Trained() {
				want = append(want, x.Source)
			}
		}
	}
	if got := judged(e).Function.AllEven.Sources; !slices.Equal(got, measure.Union(want)) {
		t.Errorf("sources %v, want %v", got, want)
	}
}

// Of several scores of the latest visit the worst counts, and older ones do not.
func TestWhichPainCounts(t *testing.T) {
	again := func(context shoulder.PainContext, scores ...string) (changes []alter) {
		for _, score := range scores {
			changes = append(changes, hurts(shoulder.Right, context, score))
		}
		return changes
	}
	for _, scores := range [][]string{{"2", "5"}, {"5", "2"}} {
		v := complete(14, "100")
		v.Pain, v.RestPain = "", ""
		r := judged(altered(slices.Concat(again(shoulder.PainDuringResistedTest, scores...), again(shoulder.PainAtRest, scores...)), complete(0, "100"), v))
		if test, rest := r.Motions[0].Positions[0].Pain.Value, r.Function.RestPain.Value; test == nil || rest == nil || test.String() != "5" || rest.String() != "5" {
			t.Errorf("%v: in the test %v and at rest %v, want 5", scores, test, rest)
		}
	}
	sore := complete(0, "100")
	sore.Pain = "5"
	if c := judged(episode(sore, complete(14, "100"))).Motions[0].Positions[0].Pain; c.Value.String() != "1" {
		t.Errorf("after 5 of the visit before: %v, want 1 of the latest", c.Value)
	}
	f := judged(episode(complete(0, "100"))).Function // one visit
	for _, c := range []Criterion{f.RestPain, f.TestPain, f.WorstPain} {
		if c.Verdict != Met {
			t.Errorf("%v of the only visit: %v, want met", c.Rule, c.Verdict)
		}
	}
}

// A full range may be that of the other side, where the protocol says so and it is known.
func TestTheOtherSidesRange(t *testing.T) {
	p, err := protocol.Load([]byte(`{"id":"clinic","version":"1","range":{"reference":"other-side"}}`))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name     string
		p        *protocol.Protocol
		affected bool
		other    []alter
		needed   string
	}{
		{"by the protocol's full range", protocol.Default(), false, []alter{motionOf(shoulder.Flexion, shoulder.Left, true, "160")}, "135"},
		{"by the other side's", p, false, []alter{motionOf(shoulder.Flexion, shoulder.Left, true, "160")}, "120"},
		{"by the other side's, which is not known", p, false, nil, "135"},
		{"by the other side's, which is affected", p, true, []alter{motionOf(shoulder.Flexion, shoulder.Left, true, "160")}, "135"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := altered(tt.other, complete(0, "95"))
			e.ComparisonAffected = tt.affected
			m := measure.Measure(e, tt.p)
			r := Judge(e, m, course.Episode(e, m, tt.p), nil, tt.p, day(0))
			if got := r.Motions[0].Positions[1].Range.Needed; got.String() != tt.needed {
				t.Errorf("%v degrees are needed, want %s (by hand: 75 %% of 180 or 160)", got, tt.needed)
			}
		})
	}
}

// What a repair's time, a permit or a refusal is held against.
func TestThresholdOfTheTissue(t *testing.T) {
	repaired := shoulder.Repair{Source: 1, Side: shoulder.Right, Date: day(-100)}
	for _, tt := range []struct {
		name      string
		of        func(*shoulder.Episode)
		threshold bool
		undated   bool
		repaired  bool
	}{
		{"repair", func(e *shoulder.Episode) { e.Repairs = []shoulder.Repair{repaired} }, true, false, true},
		{"repair without a date", func(e *shoulder.Episode) { e.Repairs = []shoulder.Repair{{Source: 1, Side: shoulder.Right}} }, true, true, false},
		{"permit without a repair", func(e *shoulder.Episode) {
			e.Permits = []shoulder.Permit{{Source: 2, When: day(-1), Phase: shoulder.LoadSubmaximalAtSide}}
		}, false, false, false},
		{"refused", func(e *shoulder.Episode) {
			e.Repairs = []shoulder.Repair{repaired}
			e.Clearances = []shoulder.Statement{{Source: 2, When: day(-1), IsDay: true}}
		}, false, false, true},
		{"a statement that could not be read", func(e *shoulder.Episode) {
			e.Repairs, e.Unread = []shoulder.Repair{repaired}, []shoulder.Permit{{Source: 2, When: day(-1)}}
		}, false, false, true},
		{"nothing", func(*shoulder.Episode) {}, false, false, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(complete(0, "95"))
			tt.of(e)
			tissue := judged(e).Tissue
			if stated := tissue.Threshold.Value.Sign() > 0; stated != tt.threshold || tissue.Undated() != tt.undated || tissue.Repaired().IsZero() == tt.repaired {
				t.Errorf("held against a number of weeks: %v, undated %v, repaired on %v", stated, tissue.Undated(), tissue.Repaired())
			}
		})
	}
}

// Of the manual test the lowest grade of the latest visit with one counts, of that motion alone.
func TestWhichGradeCounts(t *testing.T) {
	graded := func(day int, grades ...shoulder.MuscleGrade) shoulder.Session {
		s := visit{Day: day}.Session()
		for _, g := range grades {
			s.Grades = append(s.Grades, shoulder.Grade{Source: next(), Motion: shoulder.External, Position: shoulder.AtSide, Side: shoulder.Right, Value: g})
		}
		return s
	}
	const three, five = shoulder.Grade3, shoulder.Grade5
	for _, tt := range []struct {
		name     string
		sessions []shoulder.Session
		want     shoulder.MuscleGrade
	}{
		{"two of a visit", []shoulder.Session{graded(0, three, five)}, three},
		{"two of a visit, the lower last", []shoulder.Session{graded(0, five, three)}, three},
		{"of the latest visit", []shoulder.Session{graded(0, three), graded(14, five)}, five},
		{"of the latest visit with one", []shoulder.Session{graded(0, three), graded(14)}, three},
	} {
		r := judged(&shoulder.Episode{Involved: shoulder.Right, Sessions: tt.sessions})
		if got, other := r.Motions[0].Positions[0].Grade, r.Motions[1].Positions[0].Grade; got != tt.want || other != shoulder.GradeUnknown {
			t.Errorf("%s: %v, and of the other rotation %v; want %v and none", tt.name, got, other, tt.want)
		}
	}
}

// Two instruments of one visit give two indices a test: one decides, the other stands beside it.
func TestIndicesBesideTheDecidingOne(t *testing.T) {
	hand, belt := complete(14, "95"), complete(14, "80")
	belt.Belt = true
	e := episode(complete(0, "95"), hand)
	e.Sessions[1].Trials = append(e.Sessions[1].Trials, belt.Session().Trials...)
	for _, motion := range judged(e).Motions {
		for _, p := range motion.Positions {
			if len(p.Others) != 1 || p.Others[0] == p.Symmetry || p.Others[0].Motion != motion.Motion || p.Others[0].Position != p.Position || p.Others[0].Session != 1 {
				t.Errorf("%v %v: beside the deciding index stand %+v, want the other instrument's", motion.Motion, p.Position, p.Others)
			}
		}
	}
}

// An index that is too old decides nothing, and is shown as that.
func TestAStaleIndexIsShown(t *testing.T) {
	e, p := episode(complete(0, "95")), protocol.Default()
	for days, want := range map[int]bool{42: false, 43: true} {
		r := Judge(e, measure.Measure(e, p), course.Episode(e, measure.Measure(e, p), p), nil, p, day(days))
		if got := r.Motions[0].Positions[0].Stale != nil; got != want {
			t.Errorf("%d days later: stale %v, want %v (protocol: 42 days)", days, got, want)
		}
	}
}

// The index against what the other side usually has, by hand.
func TestUsualIndex(t *testing.T) {
	force, torque := shoulder.Force, shoulder.Torque
	at := func(session int, newtons string, d shoulder.Dimension) *measure.Symmetry {
		value := exact.MustParse(newtons)
		index, _ := exact.Int(8000).Quo(value) // the involved side has 80 N
		s := &measure.Score{Value: value, Dimension: d}
		return &measure.Symmetry{Session: session, Index: index, Comparison: s, Involved: &measure.Score{}}
	}
	a, b, c := at(0, "100", force), at(1, "80", force), at(2, "60", force)
	other, doubtful := at(1, "20", force), at(1, "20", force)
	other.Instrument = shoulder.BeltStabilised
	doubtful.Comparison.Doubts = measure.Doubts(1 << measure.UnitMayBeWrong)
	again, rising := *b, []*measure.Symmetry{at(0, "60", force), at(1, "80", force), at(2, "100", force)}
	for _, tt := range []struct {
		name        string
		series, run []*measure.Symmetry
		want        string
	}{
		{"one alone", []*measure.Symmetry{c}, nil, ""},
		{"two", []*measure.Symmetry{b, c}, nil, "114.28"},
		{"three", []*measure.Symmetry{a, b, c}, nil, "100"},
		{"before the run it had more", []*measure.Symmetry{a, b, c}, []*measure.Symmetry{b, c}, "80"},
		{"before the run it had less", rising, rising[1:], "100"},
		{"one strength in two indices", []*measure.Symmetry{a, b, &again}, nil, "88.88"},
		{"of another instrument", []*measure.Symmetry{a, other, c}, nil, "100"},
		{"in another dimension", []*measure.Symmetry{a, at(1, "20", torque), c}, nil, "100"},
		{"in doubt", []*measure.Symmetry{a, doubtful, c}, nil, "100"},
	} {
		got := usualIndex(tt.series[len(tt.series)-1], tt.series, tt.run)
		if (got == nil) != (tt.want == "") || got != nil && !near(*got, tt.want) {
			t.Errorf("%s: %v, want %q (by hand)", tt.name, got, tt.want)
		}
	}
}

// near compares with a number of two decimals.
func near(n exact.Number, want string) bool {
	off := n.Sub(exact.MustParse(want)).Float64()
	return off > -0.01 && off < 0.01
}
