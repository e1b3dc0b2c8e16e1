package protocol

import (
	"fmt"
	"strings"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// checker collects contradictions.
type checker struct{ problems Problems }

func (c *checker) require(ok bool, path, format string, args ...any) {
	if !ok {
		c.problems = append(c.problems, Problem{Path: path, Text: fmt.Sprintf(format, args...)})
	}
}

// requireRow checks what every row that a clinic adds has: an id of its own among those so far, a
// name in English, and a source of what.
func (c *checker) requireRow(at, id string, ids map[string]bool, title map[string]string, source, what string) {
	c.require(isID(id), at+".id", "must be 1 to 50 letters, digits, - and .")
	c.require(!ids[id], at+".id", "stands twice")
	ids[id] = true
	c.require(title["en"] != "", at+".title", "must have a name in English (en)")
	c.require(source != "", at+".source", "must name where %s", what)
}

// check reports every contradiction within the protocol.
func (p *Protocol) check() Problems {
	var c checker
	p.checkDirections(&c)
	p.checkDomains(&c)
	p.checkOrder(&c)
	p.checkPhases(&c)
	p.checkBands(&c)
	p.checkDoses(&c)
	p.checkOutcomes(&c)
	p.checkDemands(&c)
	return c.problems
}

// named is a threshold with its place in the file.
type named struct {
	path string
	Threshold
	unit      string
	low, high int64 // domain of the value, inclusive
	atLeast   bool  // the good direction: at least, or at most
}

func (p *Protocol) thresholds() []named {
	return []named{
		{"trials.minimum", p.Trials.Minimum, "1", 1, 10, true},
		{"trials.variation", p.Trials.Variation, "%", 0, 100, false},
		{"trials.outlier", p.Trials.Outlier, "%", 0, 100, false},
		{"error.painful", p.Error.Painful, "{score}", 0, 10, true},
		{"pairing.carryForward", p.Pairing.CarryForward, "d", 0, 365, false},
		{"pairing.current", p.Pairing.Current, "d", 0, 365, false},
		{"doubt.trialRatio", p.Doubt.TrialRatio, "1", 1, 10, false},
		{"doubt.trialVariation", p.Doubt.TrialVariation, "%", 0, 100, false},
		{"doubt.indexSingle", p.Doubt.IndexSingle, "%", 100, 500, false},
		{"doubt.indexMost", p.Doubt.IndexMost, "%", 100, 500, false},
		{"doubt.unitTolerance", p.Doubt.UnitTolerance, "%", 0, 40, false},
		{"doubt.comparisonFall", p.Doubt.ComparisonFall, "%", 0, 100, true},
		{"redFlag.window", p.RedFlag.Window, "d", 1, 730, false},
		{"redFlag.tests", p.RedFlag.Tests, "1", 1, 6, true},
		{"redFlag.largeFall", p.RedFlag.LargeFall, "%", 1, 100, true},
		{"redFlag.jointFall", p.RedFlag.JointFall, "%", 1, 100, true},
		{"redFlag.gradeFall", p.RedFlag.GradeFall, "1", 1, 5, true},
		{"redFlag.rangeFall", p.RedFlag.RangeFall, "deg", 1, 180, true},
		{"redFlag.force", p.RedFlag.Force, "N", 0, 100, false},
		{"redFlag.torque", p.RedFlag.Torque, "N.m", 0, 50, false},
		{"redFlag.elevation", p.RedFlag.Elevation, "deg", 0, 180, false},
		{"redFlag.passiveExcess", p.RedFlag.PassiveExcess, "deg", 1, 180, true},
		{"redFlag.weakExternal", p.RedFlag.WeakExternal, "%", 0, 100, false},
		{"redFlag.painRise", p.RedFlag.PainRise, "{score}", 1, 10, true},
		{"redFlag.restPain", p.RedFlag.RestPain, "{score}", 0, 10, true},
		{"redFlag.worstPain", p.RedFlag.WorstPain, "{score}", 0, 10, true},
		{"symmetry.confirmAfter", p.Symmetry.ConfirmAfter, "d", 1, 365, true},
		{"symmetry.confirmWithin", p.Symmetry.ConfirmWithin, "d", 1, 365, false},
		{"symmetry.latest", p.Symmetry.Latest, "d", 0, 42, false},
		{"function.pain", p.Function.Pain, "{score}", 0, 10, false},
		{"function.low", p.Function.Low, "%", 0, 100, true},
		{"symmetry.goodEnough", p.Symmetry.GoodEnough, "%", 1, 150, true},
		{"symmetry.even", p.Symmetry.Even, "%", 1, 150, true},
		{"symmetry.confirmations", p.Symmetry.Confirmations, "1", 1, 10, true},
		{"symmetry.weak", p.Symmetry.Weak, "N/kg", 0, 20, false},
		{"range.fraction", p.Range.Fraction, "%", 1, 100, true},
		{"range.minimum", p.Range.Minimum, "deg", 0, 180, true},
		{"range.change", p.Range.Change, "deg", 0, 90, true},
		{"range.changeOtherExaminer", p.Range.ChangeOtherExaminer, "deg", 0, 90, true},
		{"pain.gate", p.Pain.Gate, "{score}", 0, 10, false},
		{"pain.change", p.Pain.Change, "{score}", 0, 10, true},
		{"pain.highIrritability", p.Pain.HighIrritability, "{score}", 0, 10, true},
		{"pain.lowIrritability", p.Pain.LowIrritability, "{score}", 0, 10, false},
		{"tissue.resistedAfter", p.Tissue.ResistedAfter, "wk", 0, 104, true},
		{"tissue.resistedAfterMassive", p.Tissue.ResistedAfterMassive, "wk", 0, 104, true},
		{"tissue.progressiveAfter", p.Tissue.ProgressiveAfter, "wk", 0, 104, true},
		{"tissue.progressiveAfterMassive", p.Tissue.ProgressiveAfterMassive, "wk", 0, 104, true},
		{"tissue.elevatedAfter", p.Tissue.ElevatedAfter, "wk", 0, 104, true},
		{"tissue.elevatedAfterMassive", p.Tissue.ElevatedAfterMassive, "wk", 0, 104, true},
		{"tissue.functionalAfter", p.Tissue.FunctionalAfter, "wk", 0, 104, true},
		{"tissue.functionalAfterMassive", p.Tissue.FunctionalAfterMassive, "wk", 0, 104, true},
		{"tissue.sportAfter", p.Tissue.SportAfter, "wk", 0, 208, true},
		{"tissue.sportAfterMassive", p.Tissue.SportAfterMassive, "wk", 0, 208, true},
		{"tissue.permitAhead", p.Tissue.PermitAhead, "wk", 0, 104, false},
		{"tissue.massive", p.Tissue.Massive, "cm", 1, 15, true},
		{"course.allEven", p.Course.AllEven, "%", 1, 99, true},
		{"course.reach", p.Course.Reach, "%", 50, 99, true},
		{"course.reachOne", p.Course.ReachOne, "%", 50, 99, true},
		{"course.levelling", p.Course.Levelling, "%", 50, 99, true},
		{"certainty.clear", p.Certainty.Clear, "%", 60, 100, true},
		{"certainty.probable", p.Certainty.Probable, "%", 51, 99, true},
		{"trend.sessions", p.Trend.Sessions, "1", 3, 20, true},
		{"trend.horizon", p.Trend.Horizon, "wk", 1, 104, false},
	}
}

// checkDirections: a threshold turned round would open what it should hold.
func (p *Protocol) checkDirections(c *checker) {
	for _, t := range p.thresholds() {
		if t.atLeast {
			c.require(t.Comparison == AtLeast || t.Comparison == MoreThan, t.path+".comparison", "must be >= or >")
		} else {
			c.require(t.Comparison == AtMost || t.Comparison == LessThan, t.path+".comparison", "must be <= or <")
		}
		c.require(t.Unit == t.unit, t.path+".unit", "must be %s", t.unit)
		c.require(t.Source != "", t.path+".source", "must name where the value comes from")
	}
	grade, nearZero := p.Grade.GoodEnough, p.RedFlag.Grade
	c.require(grade.Comparison == AtLeast, "grade.goodEnough.comparison", "must be >=")
	c.require(grade.Source != "", "grade.goodEnough.source", "must name where the value comes from")
	c.require(nearZero.Comparison == AtMost, "redFlag.grade.comparison", "must be <=")
	c.require(nearZero.Source != "", "redFlag.grade.source", "must name where the value comes from")
}

// leastError is the smallest standard error of measurement that a protocol may state, in per
// cent: with less every difference would be clear, and a shoulder even by one lucky test. Ours;
// the published ones are 4.8 % and more (see the default protocol).
const leastError = 1

func (p *Protocol) checkDomains(c *checker) {
	for _, t := range p.thresholds() {
		c.require(within(t.Value, t.low, t.high), t.path+".value", "must be from %d to %d %s", t.low, t.high, t.unit)
	}
	settings := []struct {
		path string
		Setting
		unit      string
		low, high int64
	}{
		{"error.stabilised", p.Error.Stabilised, "%", leastError, 40},
		{"error.usual", p.Error.Usual, "%", leastError, 40},
		{"error.unstabilised", p.Error.Unstabilised, "%", leastError, 40},
		{"error.floorForce", p.Error.FloorForce, "N", 0, 50},
		{"error.floorTorque", p.Error.FloorTorque, "N.m", 0, 20},
		{"error.day", p.Error.Day, "%", 0, 100},
		{"trials.published", p.Trials.Published, "1", 1, 10},
		{"trials.share", p.Trials.Share, "%", 0, 100},
		{"redFlag.examine", p.RedFlag.Examine, "d", 0, 28},
		{"error.interval", p.Error.Interval, "%", 50, 99},
		{"error.change", p.Error.Change, "%", 50, 99},
		{"course.errorSpread", p.Course.ErrorSpread, "%", 0, 60},
		{"course.bothSides", p.Course.BothSides, "%", 0, 95},
		{"course.leastDay", p.Course.LeastDay, "%", 0, 100},
		{"course.plateau", p.Course.Plateau, "%", 50, 120},
		{"course.plateauSpread", p.Course.PlateauSpread, "%", 1, 100},
		{"course.testSpread", p.Course.TestSpread, "%", 1, 50},
		{"course.gap", p.Course.Gap, "%", 0, 100},
		{"course.gapSpread", p.Course.GapSpread, "%", 1, 100},
		{"course.stableGap", p.Course.StableGap, "%", 1, 50},
		{"course.fast", p.Course.Fast, "wk", 1, 52},
		{"course.slow", p.Course.Slow, "wk", 1, 104},
		{"course.comparisonDrift", p.Course.ComparisonDrift, "%", 0, 10},
		{"course.plateauDrift", p.Course.PlateauDrift, "%", 0, 10},
		{"course.testDrift", p.Course.TestDrift, "%", 0, 10},
		{"course.gapDrift", p.Course.GapDrift, "%", 0, 20},
		{"range.fullFlexion", p.Range.FullFlexion, "deg", 90, 190},
		{"range.fullAbduction", p.Range.FullAbduction, "deg", 90, 190},
		{"symmetry.dominance.external", p.Symmetry.Dominance.External, "1", 1, 2},
		{"symmetry.dominance.internalAtSide", p.Symmetry.Dominance.InternalAtSide, "1", 1, 2},
		{"symmetry.dominance.internalElevated", p.Symmetry.Dominance.InternalElevated, "1", 1, 2},
		{"recheck.earliest", p.Recheck.Earliest, "d", 1, 365},
		{"recheck.latest", p.Recheck.Latest, "d", 1, 365},
		{"recheck.worseTests", p.Recheck.WorseTests, "1", 1, 6},
		{"recheck.worseEarliest", p.Recheck.WorseEarliest, "d", 1, 365},
		{"recheck.worseLatest", p.Recheck.WorseLatest, "d", 1, 365},
		{"goal.near", p.Goal.Near, "d", 1, 730},
		{"goal.due", p.Goal.Due, "d", 1, 730},
	}
	p.checkFalseAlarm(c)
	for _, s := range settings {
		c.require(within(s.Value, s.low, s.high), s.path+".value", "must be from %d to %d %s", s.low, s.high, s.unit)
		c.require(s.Unit == s.unit, s.path+".unit", "must be %s", s.unit)
		c.require(s.Source != "", s.path+".source", "must name where the value comes from")
	}
}

// checkFalseAlarm: without any false alarm nothing would ever raise one.
func (p *Protocol) checkFalseAlarm(c *checker) {
	falseAlarm := p.RedFlag.FalseAlarm
	c.require(falseAlarm.Value.Sign() > 0 && within(falseAlarm.Value, 0, 20), "redFlag.falseAlarm.value", "must be above 0 and at most 20 %%")
	c.require(falseAlarm.Unit == "%", "redFlag.falseAlarm.unit", "must be %%")
	c.require(falseAlarm.Source != "", "redFlag.falseAlarm.source", "must name where the value comes from")
}

func (p *Protocol) checkOrder(c *checker) {
	c.require(below(p.Symmetry.GoodEnough.Value, p.Symmetry.Even.Value), "symmetry.goodEnough.value",
		"must be below symmetry.even.value: a position cannot be even before it is good enough")
	c.require(!below(p.Tissue.ResistedAfterMassive.Value, p.Tissue.ResistedAfter.Value), "tissue.resistedAfterMassive.value",
		"must not be below tissue.resistedAfter.value: a massive tear heals no sooner")
	c.require(below(p.Course.Fast.Value, p.Course.Slow.Value), "course.fast.value",
		"must be below course.slow.value")
	c.require(!below(p.Course.ReachOne.Value, p.Course.Reach.Value), "course.reachOne.value",
		"must not be below course.reach.value: all tests are even no sooner than one of them")
	c.require(below(p.Symmetry.ConfirmAfter.Value, p.Symmetry.ConfirmWithin.Value), "symmetry.confirmAfter.value",
		"must be below symmetry.confirmWithin.value")
	c.require(!below(p.Symmetry.Confirmations.Value, exact.Int(2)), "symmetry.confirmations.value",
		"must be at least 2: one session alone never confirms")
	c.require(below(p.Certainty.Probable.Value, p.Certainty.Clear.Value), "certainty.probable.value",
		"must be below certainty.clear.value")
	c.require(below(p.Pain.LowIrritability.Value, p.Pain.HighIrritability.Value), "pain.lowIrritability.value",
		"must be below pain.highIrritability.value")
	c.require(!below(p.Error.Usual.Value, p.Error.Stabilised.Value), "error.stabilised.value",
		"must not be above error.usual.value: stabilising does not add error")
	c.require(!below(p.Error.Unstabilised.Value, p.Error.Usual.Value), "error.usual.value",
		"must not be above error.unstabilised.value")
	c.require(!below(p.Recheck.Latest.Value, p.Recheck.Earliest.Value), "recheck.earliest.value",
		"must not be after recheck.latest.value")
	c.require(!below(p.Recheck.WorseLatest.Value, p.Recheck.WorseEarliest.Value), "recheck.worseEarliest.value",
		"must not be after recheck.worseLatest.value")
	c.require(gateWithin180(p.Range, p.Range.FullFlexion), "range.fullFlexion.value", "puts the range gate over 180 degrees")
	c.require(gateWithin180(p.Range, p.Range.FullAbduction), "range.fullAbduction.value", "puts the range gate over 180 degrees")
}

// checkPhases: load is permitted step by step, and to a massive tear no sooner.
func (p *Protocol) checkPhases(c *checker) {
	for _, phase := range shoulder.LoadPhases[1:] {
		c.require(!below(p.Tissue.After(phase, true).Value, p.Tissue.After(phase, false).Value), pathOf(phase, true),
			"must not begin sooner for a massive tear")
		if phase > shoulder.LoadSubmaximalAtSide {
			for _, massive := range [...]bool{false, true} {
				c.require(!below(p.Tissue.After(phase, massive).Value, p.Tissue.After(phase-1, massive).Value), pathOf(phase, massive),
					"must not begin before the phase that permits less")
			}
		}
	}
}

// pathOf is where the week of a phase stands in the file.
func pathOf(phase shoulder.LoadPhase, massive bool) string {
	path := "tissue." + [...]string{"", "resistedAfter", "progressiveAfter", "elevatedAfter", "functionalAfter", "sportAfter"}[phase]
	if massive {
		path += "Massive"
	}
	return path + ".value"
}

func gateWithin180(r Range, full Setting) bool {
	return full.Value.Mul(r.Fraction.Value).Cmp(exact.Int(180*100)) <= 0
}

func (p *Protocol) checkBands(c *checker) {
	bands := []struct {
		path string
		Band
	}{
		{"ratio.atSide", p.Ratio.AtSide},
		{"ratio.flexion90", p.Ratio.Flexion90},
		{"ratio.abduction90", p.Ratio.Abduction90},
		{"byMass.external", p.ByMass.External},
		{"byMass.internal", p.ByMass.Internal},
	}
	for _, b := range bands {
		c.require(b.Low.Sign() > 0 && below(b.Low, b.High), b.path, "low must be above 0 and below high")
		c.require(b.Source != "", b.path+".source", "must name where the band comes from")
	}
}

func (p *Protocol) checkDoses(c *checker) {
	doses := []struct {
		path string
		Dose
	}{
		{"dose.submaximal", p.Dose.Submaximal},
		{"dose.isometric", p.Dose.Isometric},
		{"dose.rhythmicStabilisation", p.Dose.RhythmicStabilisation},
		{"dose.isotonic", p.Dose.Isotonic},
		{"dose.range", p.Dose.Range},
		{"dose.functional", p.Dose.Functional},
		{"dose.progression", p.Dose.Progression},
	}
	for _, d := range doses {
		c.require(d.Text != "" && d.Source != "", d.path, "needs a text and a source")
		if d.Share == nil {
			continue
		}
		c.require(within(*d.Share, 1, 100), d.path+".share", "must be from 1 to 100 per cent")
		c.require(strings.Contains(d.Text, d.Share.String()+" %"), d.path+".share", "the text must name the share, %s %%", d.Share)
	}
	c.require(isID(p.ID), "id", "must be 1 to 50 letters, digits, - and . (it becomes part of FHIR ids and addresses)")
	c.require(p.Version != "" && p.Title != "", "version", "version and title must be given")
}

// isID leaves room in FHIR's 64 characters for what is put behind it.
//
// Source: FHIR R4 4.0.1, id.
func isID(s string) bool {
	for _, c := range []byte(s) {
		letter := 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z'
		digit := '0' <= c && c <= '9'
		if !letter && !digit && c != '-' && c != '.' {
			return false
		}
	}
	return len(s) >= 1 && len(s) <= 50
}

func within(x exact.Number, low, high int64) bool {
	return x.Cmp(exact.Int(low)) >= 0 && x.Cmp(exact.Int(high)) <= 0
}

func below(x, y exact.Number) bool { return x.Cmp(y) < 0 }
