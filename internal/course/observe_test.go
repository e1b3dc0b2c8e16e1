package course_test

import (
	"testing"

	"evenreach.example/internal/course"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

type visit = shouldertest.Visit

func followed(e *shoulder.Episode) *course.Course {
	p := protocol.Default()
	return course.Episode(e, measure.Measure(e, p), p)
}

func setting(r shoulder.Motion, p shoulder.ArmPosition) measure.Setting {
	return measure.Setting{Motion: r, Position: p, Support: shoulder.Supported, Contraction: shoulder.Make, Instrument: shoulder.Handheld}
}

func TestEveryTestOfAnEpisodeIsFollowed(t *testing.T) {
	all := shouldertest.All("88")
	c := followed(shouldertest.Episode(visit{Day: 0, ER: all, IR: all}, visit{Day: 14, ER: all, IR: all}))
	if len(c.Tests) != 6 || len(c.Deciding) != 6 || len(c.Days) != 2 {
		t.Fatalf("%d tests, %d decide, %d days; want 6, 6, 2", len(c.Tests), len(c.Deciding), len(c.Days))
	}
	for i := range c.Tests {
		now := c.Tests[i].Now()
		if now.Index < 80 || now.Index > 95 || now.Low >= now.Index || now.High <= now.Index {
			t.Errorf("%v %v: %+v, want about 88 %% within its interval", c.Tests[i].Motion, c.Tests[i].Position, *now)
		}
		if !c.Tests[i].First.Known || c.Tests[i].First.Day != 0 {
			t.Errorf("change since the first visit: %+v", c.Tests[i].First)
		}
	}
}

func TestNothingIsFollowedWithoutAYardstick(t *testing.T) {
	e := shouldertest.Episode(visit{Day: 0, ER: shouldertest.All("88")})
	e.ComparisonAffected = true
	if c := followed(e); c != nil {
		t.Errorf("followed %d tests where both sides are affected", len(c.Tests))
	}
	if c := followed(shouldertest.Episode()); c != nil {
		t.Error("followed an episode without a strength")
	}
}

// Another way of testing is another test: a break test reads much higher.
func TestABreakTestIsAnotherTest(t *testing.T) {
	er := [3]string{"80", "", ""}
	c := followed(shouldertest.Episode(visit{Day: 0, ER: er}, visit{Day: 14, ER: er, Break: true}))
	if len(c.Tests) != 2 || c.Find(setting(shoulder.External, shoulder.AtSide)) == nil {
		t.Fatalf("%d tests, want the make test and the break test", len(c.Tests))
	}
	if len(c.Deciding) != 1 || c.Tests[c.Deciding[0]].Contraction != shoulder.Break {
		t.Errorf("deciding %v, want the test of the latest session", c.Deciding)
	}
}

// 60 N at 0.30 m and 90 N at 0.20 m are equal torques.
func TestKnownLeverArmsMakeTorques(t *testing.T) {
	e := shouldertest.Episode(visit{Day: 0, ER: [3]string{"60", "", ""}, LeftER: [3]string{"90", "", ""}})
	e.Sessions[0].Levers = []shoulder.Lever{
		{Source: shouldertest.Next(), Side: shoulder.Right, Metres: exact.MustParse("0.30")},
		{Source: shouldertest.Next(), Side: shoulder.Left, Metres: exact.MustParse("0.20")},
	}
	c := followed(e)
	if c.Tests[0].Dimension != shoulder.Torque || c.Tests[0].Now().Index < 90 {
		t.Errorf("%v, index %.1f: want torques, which are equal", c.Tests[0].Dimension, c.Tests[0].Now().Index)
	}
}

// A silent side has no logarithm and must still count as weak.
func TestASilentSideIsWeak(t *testing.T) {
	er := [3]string{"0", "", ""}
	c := followed(shouldertest.Episode(visit{Day: 0, ER: er}, visit{Day: 14, ER: er}))
	if now := c.Tests[0].Now(); !(now.Index < 50) || now.Even > 1e-3 {
		t.Errorf("index %.1f, probability of evenness %.3f: want a weak side", now.Index, now.Even)
	}
}
