package wording

import (
	"slices"
	"strconv"
	"strings"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// ForArm says which arm a home programme is for: a sentence, empty if that is not known.
func (p Plain) ForArm(involved shoulder.Side) string {
	if involved == shoulder.SideUnknown {
		return ""
	}
	return p.c.fill(p.c.plain.forArm, p.c.Side(involved))
}

// ClinicOnly says that there are exercises that are done in the clinic alone.
func (p Plain) ClinicOnly() string { return p.c.plain.clinicOnly }

// TestsElsewhere says who has the result of each test: a sentence.
func (p Plain) TestsElsewhere() string { return p.c.plain.testsElsewhere }

// NoneAtHome says that none of the exercises is for home.
func (p Plain) NoneAtHome() string { return p.c.plain.noneAtHome }

// Legend explains the pictures of exercises: sentences, empty if there is no picture.
func (p Plain) Legend(exercises []plan.Exercise) string {
	some := func(m plan.Mode) bool {
		return slices.ContainsFunc(exercises, func(e plan.Exercise) bool { return e.Mode == m })
	}
	switch {
	case some(plan.Isotonic):
		return p.c.plain.arrows
	case some(plan.Isometric):
		return p.c.plain.arrowOnly
	}
	return ""
}

// Numbered names an exercise with its number on the sheet, a sentence.
func (p Plain) Numbered(number int, e *plan.Exercise) string {
	return p.c.sentence(p.c.phrases.labelled, p.DiaryDone(number), p.exercise(e))
}

// HowMuch is sets, repetitions, days and effort as the protocol gives them, how resistance
// is met, and when the load is raised: sentences.
func (p Plain) HowMuch(e *plan.Exercise, progression string) string {
	lines := []string{p.c.fill(p.c.plain.howMuch, Capital(p.c.Translated(e.Dose.Text)))}
	if e.Mode != plan.NoResistance {
		lines = append(lines, p.Mode(e.Mode))
	}
	switch {
	case e.Held: // a cue says that the load stays
	case e.Mode == plan.Isotonic:
		lines = append(lines, p.c.fill(p.c.plain.progress, Capital(p.c.Translated(progression))))
	case e.Dose.Share != nil:
		lines = append(lines, p.c.plain.nextLoad)
	}
	return strings.Join(lines, " ")
}

// directions of a rotation in the trained positions, in the order of the tables push and
// pull.
func direction(e *plan.Exercise) int {
	i := int(e.Position) - int(shoulder.AtSide)
	if e.Motion == shoulder.Internal {
		i += len(shoulder.TrainedPositions)
	}
	return i
}

// Picture says in words what the picture of an exercise shows: sentences. It is empty for
// an exercise without a picture.
func (p Plain) Picture(e *plan.Exercise) string {
	i := direction(e)
	if e.Mode == plan.NoResistance || i < 0 || i >= len(p.c.plainTerms.push) {
		return ""
	}
	said := slices.Contains(e.Cues, plan.PullFromAbove) || slices.Contains(e.Cues, plan.PullLevelOrBelow)
	if e.Mode == plan.Isotonic && !said {
		return p.c.plainTerms.push[i] + " " + p.c.plainTerms.pull[i]
	}
	return p.c.plainTerms.push[i]
}

// Load says how hard to push, or leaves room to write it down: a sentence. It is empty where
// the dose says it.
func (p Plain) Load(e *plan.Exercise) string {
	switch {
	case e.Load != nil:
		return p.force(e.Load.Force)
	case e.Mode == plan.Isotonic:
		return p.c.fill(p.c.plain.loadWrite, "____________")
	case e.Dose.Share != nil:
		return p.c.plain.loadAsk
	}
	return ""
}

// force is a load and the mass that weighs about as much, both rounded down, so that what is
// printed is never more than what was computed.
func (p Plain) force(newtons exact.Number) string {
	shown, unit := p.c.shown(newtons, "N")
	decimals := 0
	if unit != "N" {
		decimals = 1
	}
	force := p.c.inUnit(roundedDown(shown, decimals).Text(decimals), unit)
	mass, unit := p.mass(newtons)
	if mass.Sign() == 0 {
		return p.c.fill(p.c.plain.load, force)
	}
	return p.c.fill(p.c.plain.loadMass, force, p.c.inUnit(inFull(mass), unit))
}

// mass is what weighs a force, rounded down to half a kilogram or to a pound: as fine as
// weights come, common practice.
func (p Plain) mass(newtons exact.Number) (exact.Number, string) {
	if p.c.force == PoundForce {
		pounds, _ := newtons.Quo(conversions[PoundForce]["N"].size)
		return roundedDown(pounds, 0), "[lb_av]"
	}
	kilograms, _ := newtons.Quo(conversions[KilogramForce]["N"].size)
	halves, _ := roundedDown(kilograms.Mul(exact.Int(2)), 0).Quo(exact.Int(2))
	return halves, "kg"
}

func roundedDown(n exact.Number, places int) exact.Number { return n.Neg().RoundUp(places).Neg() }

// DiaryDay heads the days of the diary, DiaryDone the row of an exercise, and DiaryPain
// that of the pain.
func (p Plain) DiaryDay() string { return p.c.plain.diaryDay }

// DiaryDone heads the row of an exercise.
func (p Plain) DiaryDone(exercise int) string {
	return p.c.fill(p.c.plain.diaryDone, strconv.Itoa(exercise))
}

// DiaryPain heads the row of the pain.
func (p Plain) DiaryPain() string { return p.c.plain.diaryPain }
