package redflag

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

type part = func(*shoulder.Session)

// all puts several measurements into one.
func all(parts ...part) part {
	return func(s *shoulder.Session) {
		for _, p := range parts {
			p(s)
		}
	}
}

// thrice is a test of three equal trials.
func thrice(side shoulder.Side, r shoulder.Motion, p shoulder.ArmPosition, value string) part {
	return one(side, r, p, value, value, value)
}

// with sets the contraction and the instrument of what a visit measures.
func with(c shoulder.Contraction, i shoulder.Instrument, p part) part {
	return func(s *shoulder.Session) {
		n := len(s.Trials)
		p(s)
		for k := range s.Trials[n:] {
			s.Trials[n+k].Contraction, s.Trials[n+k].Instrument = c, i
		}
	}
}

// belted is a visit measured by another instrument, so that only the indices can be compared with a hand-held one.
func belted(p part) part { return with(shoulder.Make, shoulder.BeltStabilised, p) }

// index is an index of external rotation in per cent.
func index(percent string) part {
	return all(thrice(right, external, atSide, percent), thrice(left, external, atSide, "100"))
}

const (
	external  = shoulder.External
	internal  = shoulder.Internal
	abduction = shoulder.AbductionMotion // which has no steps of training
	atSide    = shoulder.AtSide
	abducted  = shoulder.Abduction90
	scaption  = shoulder.Scaption90
)

// Which measurement answers a finding, and which only stands beside it.
func TestWhatAnswersAFinding(t *testing.T) {
	g := func(r shoulder.Motion, p shoulder.ArmPosition, value shoulder.MuscleGrade) part {
		return gradeIn(right, r, p, value)
	}
	five, three, two := grade(right, shoulder.Grade5), grade(right, shoulder.Grade3), grade(right, shoulder.Grade2)
	nothing, low, free := all(), active("80"), passive("150")
	const loss, zero, lift = "sudden-strength-loss", "near-zero-force", "cannot-lift"
	tests := []struct {
		name   string
		visits []part // a fortnight apart
		want   string
		why    string
	}{
		{"grade 2, then force in that test", []part{two, thrice(right, external, atSide, "80")}, "", "a later force answers a grade of its test"},
		{"grade 2, then force in another position", []part{two, thrice(right, external, abducted, "80")}, zero, "a force answers only its test"},
		{"grade 2, then force of the other rotation", []part{two, thrice(right, internal, atSide, "80")}, zero, "a force answers only its test"},
		{"grade 2, then force of the other side", []part{two, thrice(left, external, atSide, "80")}, zero, "a force answers only its side"},

		{"grade from 5 to 3 with force in that test", []part{five, all(three, thrice(right, external, atSide, "80"))}, "", "a dynamometer goes before a grade of its session"},
		{"grade from 5 to 3 with force in another position", []part{five, all(three, thrice(right, external, abducted, "80"))}, loss, "a force goes before a grade of its test only"},
		{"grade from 5 to 3 with force of the other rotation", []part{five, all(three, thrice(right, internal, atSide, "80"))}, loss, "a force goes before a grade of its test only"},
		{"grade from 5 to 3 with force of the other side", []part{five, all(three, thrice(left, external, atSide, "80"))}, loss, "a force goes before a grade of its side only"},
		{"grade from 5 to 3, force in another position later", []part{five, three, thrice(right, external, abducted, "80")}, loss, "a force goes before a grade of its test only"},

		{"two grades of a session, the lower last", []part{five, all(five, three)}, loss, "the lowest grade of a session counts"},
		{"two grades of a session, the lower first", []part{five, all(three, five)}, loss, "the lowest grade of a session counts"},
		{"grade 5, 3 and 2, back to 3", []part{five, three, two, three}, loss + " " + zero, "whole is as good as the best before, 4 at most"},
		{"grade from 2 to 0, back to 2", []part{two, grade(right, shoulder.Grade0), two}, loss + " " + zero, "protocol: grade 2 is almost none, also as a recovery"},

		{"force and grade of the trained motions fall", []part{all(both("80/100"), g(external, scaption, shoulder.Grade5)), all(both("40/100"), g(external, scaption, shoulder.Grade3))}, loss, "the trained motions are one finding"},
		{"force of the trained, grade of another motion", []part{all(both("80/100"), g(abduction, scaption, shoulder.Grade5)), all(both("40/100"), g(abduction, scaption, shoulder.Grade3))}, loss + " " + loss, "the other motions are a finding of their own"},
		{"almost none by force and by grade", []part{all(thrice(right, external, atSide, "0"), g(internal, atSide, shoulder.Grade2))}, zero, "the trained motions are one finding"},
		{"almost none in another motion beside good ones", []part{all(both("80/100"), thrice(right, abduction, scaption, "0"))}, zero, "every motion is looked at"},
		{"almost none on the other side", []part{all(thrice(left, external, atSide, "0"), thrice(right, external, atSide, "80"))}, "", "the other side is the yardstick"},
		{"almost none in one of two settings", []part{all(thrice(right, external, atSide, "0"), belted(thrice(right, external, atSide, "80")))}, zero, "a test of the same day answers nothing"},
		{"almost none in the other of two settings", []part{all(belted(thrice(right, external, atSide, "0")), thrice(right, external, atSide, "80"))}, zero, "a test of the same day answers nothing"},

		{"half, by index, of another instrument", []part{both("80/100"), belted(both("40/100"))}, loss, "indices do not depend on the instrument"},
		{"a fall regained, another that is within its limit", []part{all(thrice(right, external, atSide, "100"), thrice(right, external, abducted, "100")),
			all(thrice(right, external, atSide, "50"), thrice(right, external, abducted, "100")),
			all(thrice(right, external, atSide, "100"), thrice(right, external, abducted, "65"))}, "", "by hand: 35 % < 40 % in one test; the half is regained"},
		{"a loss, then a break test", []part{both("80/100"), both("40/100"), with(shoulder.Break, shoulder.Handheld, both("85/100"))}, loss, "Shah et al. 2020: a break test of 85 is none of 80 by make"},

		{"active 80, then 95 with a weak rotation", []part{low, all(active("95"), index("40"))}, "", "what was measured with a later range is about that"},
		{"pain that surged, then at rest only", []part{pain(test, "2"), pain(test, "6"), pain(rest, "1")}, "pain-surge", "pain of another occasion answers nothing"},
		{"nothing, then a passive range alone", []part{nothing, free}, "", "the active range is not known"},
		{"active 80 and passive 150", []part{all(low, free)}, lift, "protocol: 30 degrees more"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode()
			for i, p := range tt.visits {
				e.Sessions = append(e.Sessions, visit(14*i, p))
			}
			if got := codes(found(e)); got != tt.want {
				t.Errorf("%q, want %q (by definition: %s)", got, tt.want, tt.why)
			}
		})
	}
}

// An index says nothing where the other side is affected too.
func TestNoLossByIndexWhereBothAreAffected(t *testing.T) {
	e := episode(visit(0, both("80/100")), visit(14, belted(both("40/100"))))
	e.ComparisonAffected = true
	if got := codes(found(e)); got != "" {
		t.Errorf("%q, want none (by definition: an affected side is no yardstick)", got)
	}
}

// Sessions of one day are kept apart: what was measured later that day neither answers nor hides what came before.
func TestSessionsOfOneDay(t *testing.T) {
	tests := []struct {
		name string
		of   *shoulder.Episode
		want string
		why  string
	}{
		{"grade from 5 to 3, that day again 5 beside a force",
			episode(visit(0, grade(right, shoulder.Grade5)), visit(14, grade(right, shoulder.Grade3)), later(visit(14, grade(right, shoulder.Grade5), thrice(right, external, atSide, "80")), 3)),
			"sudden-strength-loss", "a force goes before the grade of its own session"},
		{"weak some days before, strong later that day", episode(visit(-7, index("40")), visit(0, active("80")), later(visit(0, index("90")), 1)), "cannot-lift", "a test of the same day ends nothing"},
		{"weak some days before, strong the next day", episode(visit(-7, index("40")), visit(0, active("80")), visit(1, index("90"))), "", "a later day ends it"},
		{"free some days before, stiff later that day", episode(visit(-7, passive("150")), visit(0, active("80")), later(visit(0, passive("100")), 1)), "cannot-lift", "a test of the same day ends nothing"},
		{"free some days before, stiff the next day", episode(visit(-7, passive("150")), visit(0, active("80")), visit(1, passive("100"))), "", "a later day ends it"},
		{"the larger passive range first", episode(later(visit(0, passive("150")), -2), visit(0, passive("100")), later(visit(0, active("80")), 1)), "cannot-lift", "of one day the largest"},
		{"the larger passive range last", episode(later(visit(0, passive("100")), -2), visit(0, passive("150")), later(visit(0, active("80")), 1)), "cannot-lift", "of one day the largest"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := codes(found(tt.of)); got != tt.want {
				t.Errorf("%q, want %q (by definition: %s)", got, tt.want, tt.why)
			}
		})
	}
}

// A loss is shown with the limit that it went beyond, and with what was measured since.
func TestNumbersOfALoss(t *testing.T) {
	limits := protocol.Default().RedFlag
	joint := all(thrice(right, external, atSide, "50"), thrice(right, external, shoulder.Flexion90, "60")) // TestLossInSomeTests
	tests := []struct {
		name  string
		of    *shoulder.Episode
		limit exact.Number
		since string // newtons of the latest test, "" for none since
	}{
		{"half", course("80/100 40/100"), limits.LargeFall.Value, ""},
		{"half, back in part", course("80/100 40/100 60/100"), limits.LargeFall.Value, "60"},
		{"together only", episode(visit(0, six(right, "80")), visit(14, joint)), limits.JointFall.Value, ""},
		{"half, by the indices together", episode(visit(0, both("80/100")), visit(14, belted(both("40/100")))), limits.JointFall.Value, ""},
		{"nearly all, by one index", episode(visit(0, index("100")), visit(14, belted(index("20")))), limits.LargeFall.Value, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := found(tt.of)
			if len(flags) != 1 {
				t.Fatalf("%q, want one loss", codes(flags))
			}
			f := flags[0]
			together := tt.limit.Cmp(limits.JointFall.Value) == 0
			if (f.Together > 0) != together || f.Threshold.Value.Cmp(tt.limit) != 0 {
				t.Errorf("together %v by the limit %v, want %v (protocol)", f.Together, f.Threshold.Value, tt.limit)
			}
			if since := f.Since.When; since.IsZero() != (tt.since == "") || tt.since != "" && f.Since.Value.String() != tt.since {
				t.Errorf("since then %v on %v, want %q", f.Since.Value, since, tt.since)
			}
		})
	}
}

// The latest session that shows a loss of range is shown, though an earlier one was deeper.
func TestTheLatestLossOfRangeIsShown(t *testing.T) {
	flags := found(episode(visit(0, active("170")), visit(14, active("100")), visit(28, active("130"))))
	if codes(flags) != "range-loss" || flags[0].Now.Value.String() != "130" {
		t.Errorf("%+v, want one: 130 after 170 degrees (by definition: the latest session)", flags)
	}
}

// An arm lifted badly before a repair, or in a session that was not the latest.
func TestLiftingAroundARepair(t *testing.T) {
	low := all(active("80"), passive("150"))
	tests := []struct {
		name string
		of   *shoulder.Episode
		want string
		why  string
	}{
		{"low before the repair, and nothing since", episode(visit(-10, low), visit(200)), "cannot-lift", "the latest range that there is"},
		{"low before the repair, 95 since", episode(visit(-10, low), visit(200, active("95"))), "", "the surgeon has seen what was before"},
		{"low after the repair, 95 since", episode(visit(150, low), visit(200, active("95"))), "cannot-lift", "95 is no real change above 90"},
		{"low in the first weeks, 95 since", episode(visit(20, low), visit(200, active("95"))), "", "no load was permitted then"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.of.Repairs = []shoulder.Repair{{Side: right, Date: at(0, 0)}}
			if got := codes(found(tt.of)); got != tt.want {
				t.Errorf("%q, want %q (by definition: %s)", got, tt.want, tt.why)
			}
		})
	}
}

// What was examined: the strength of the involved side, on the day of the examination or before.
func TestWhatAnExaminationCovers(t *testing.T) {
	tests := []struct {
		name  string
		of    *shoulder.Episode
		holds bool
		why   string
	}{
		{"half, examined, and the same again", episode(visit(0, both("80/100")), visit(14, six(right, "40")), visit(28, six(right, "40"))), false, "what was examined is no new loss"},
		{"half, examined, better, and part of that lost", course("80/100 40/100 60/100 44/100"), true, "less than it has been since the examination"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.of.Examinations = []shoulder.Statement{{When: at(15, 0), IsDay: true, Cleared: true}}
			flags := found(tt.of)
			if codes(flags) != "sudden-strength-loss" || flags[0].Holds() != tt.holds {
				t.Errorf("%+v, want a loss that holds: %v (by definition: %s)", flags, tt.holds, tt.why)
			}
		})
	}
}

// A resisted test that came too soon is looked for behind sessions without any, and is over once weeks have passed
// since with tests that were permitted.
func TestTooSoonBehindOtherSessions(t *testing.T) {
	tested := thrice(right, external, atSide, "80")
	tests := []struct {
		name string
		of   *shoulder.Episode
		want string
	}{
		{"then a session without a test", episode(visit(20, tested), visit(34, pain(rest, "1"))), "resisted-test-before-clearance"},
		{"then a permitted test months later", episode(visit(20, tested), visit(300, tested)), ""},
		{"then permitted tests for months", episode(visit(20, tested), visit(200, tested), visit(300, tested)), ""},
		{"then a permitted test within the weeks", episode(visit(60, tested), visit(120, tested)), "resisted-test-before-clearance"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.of.Repairs = []shoulder.Repair{{Side: right, Date: at(0, 0)}}
			if got := codes(found(tt.of)); got != tt.want {
				t.Errorf("%q, want %q (protocol: resisted work from week 12, a window of 84 days)", got, tt.want)
			}
		})
	}
}
