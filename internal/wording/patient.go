package wording

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Plain has the texts for the patient: everyday language, without abbreviations and codes.
// A clinician hands them over and explains them.
type Plain struct{ c *Catalogue }

// Plain is the same language in everyday words.
func (c *Catalogue) Plain() Plain { return Plain{c} }

// PlainHeadings are the titles of what is written for the patient.
type PlainHeadings struct {
	Title   string
	Compare string
	Train   string
	Demands string
	Home    string // title of the home programme
	Diary   string
	Check   string
	Help    string
}

// plainTerms are tables by value and, where the comment says so, sentences.
type plainTerms struct {
	motion        []string // "turning the arm out"
	rotationShort []string // fits the side of a chart
	position      []string // "arm by your side"
	positionShort []string // fits the head of a chart
	movement      []string // "lifting the arm forward"
	support       []string // "resting on something firm"; empty if it is not stated
	decision      []string // sentences
	push          []string // by rotation and position: see direction
	pull          []string // as push
	level         []string // {1} is a grade; fits a line with the test and the index
	mode          []string // sentences
	cue           []string // sentences
	ask           []string
	flag          []string // {1} what it is about: sentences
	loadPhase     []string
	help          []string // reasons to stop, not indexed by a value
}

// plainPhrases are sentences and parts of sentences with numbered gaps.
type plainPhrases struct {
	checked        string // {1} date
	compared       string // {1} involved side, {2} other side
	howMeasured    string // {1} threshold of evenness: sentences
	howTested      string // sentences
	better         string // {1} what changed
	painChanged    string
	worse          string // {1} what changed
	onlyClinic     string // {1} an exercise
	forArm         string // {1} involved side: sentence
	clinicOnly     string // sentence
	noneAtHome     string // sentence
	testsElsewhere string // sentence
	howMuch        string // {1} dose: sentence
	progress       string // {1} rule: sentence
	nextLoad       string // sentence
	load           string // {1} force: sentence
	loadMass       string // {1} force, {2} mass: sentence
	loadWrite      string // {1} is room to write: sentence
	loadAsk        string // sentence
	arrows         string // sentences
	arrowOnly      string // sentence
	diaryDay       string
	diaryDone      string // {1} number of the exercise
	diaryPain      string
	index          string // {1} test, {2} index, {3} level
	noIndex        string // {1} test, {2} level
	test           string // {1} rotation, {2} position
	reach          string // {1} movement, {2} range, {3} what it comes to
	reachEnough    string
	reachNeeded    string // {1} threshold
	pain           string // {1} score, {2} what it comes to
	painFine       string // {1} threshold
	painTooMuch    string // {1} threshold
	demandsOpen    string // {1} demands: sentence
	demandsNotYet  string // {1} demands: sentence
	incomplete     string // sentence
	examine        string // sentences
	doubted        string // sentence
	weakElsewhere  string // sentences
	newTrouble     string // {1} date: sentence
	unexamined     string // {1} date: sentences
	oldTest        string // {1} date: sentences
	strengthFell   string // {1} date: sentences
	bothFell       string // sentences
	passiveAsked   string // {1} movement, {2} active range, {3} date: sentences
	gradeDiffers   string // a sentence
	rangesDiffer   string // {1} movement, {2} active and {3} passive range: sentences
	rangeFell      string // {1} movement, {2} range then, {3} date, {4} range now, {5} date: sentences
	steadyLost     string // {1} position: sentences
	otherLift      string // {1} how far, {2} date: sentences
	otherHurts     string // {1} score, {2} date: sentences
	flagThen       string // {1} number, {2} date, {3} number, {4} date
	flagNow        string // {1} number, {2} date
	flagSince      string // {1} numbers, {2} latest number, {3} date
	flagExamined   string // {1} date: sentence
	healing        string // {1} date, {2} weeks: sentence
	healingMost    string // {1} what healing bears at most: sentence
	loadMost       string // {1} what is allowed at most without an operation: sentence
	healingTests   string // what is trained is for the tests to say, not for healing: sentence
	healingNext    string // {1} what is allowed next, {2} date: sentence
	healingAsk     string // {1} what is allowed next: sentence
	readyNoSport   string // sentences
	waitFunction   string // sentences
	waitConcern    string // sentences
	evenUnlikely   string // sentences
	refused        string // sentences
	growing        string // sentences
	noYardstick    string // sentences
	strengthenAt1  string // at a first visit: sentences
	noYardstickAt1 string // at a first visit: sentences
	examineBy      string // {1} date
	dose           string
	noExercise     string
	noExerciseYet  string // while a red flag holds
	exerciseRange  string // {1} movement
	beginFunction  string
	fullFunction   string // sport included
	fullDaily      string // without sport
	recheck        string // {1} earliest, {2} latest
	recheckSooner  string // {1} earliest, {2} latest
	firstAsk       string // {1} what is asked for
	helpIntro      string // {1} reasons
	closing        string // sentences
	chart          string
	chartSides     string // {1} involved side, {2} other side
	chartNote      string
	chartTogether  string // {1} index, {2} and {3} the ends of its interval
	chartNotes     string // in place of chartNote where several tests count together
	chartEven      string // {1} threshold
	chartEnough    string // {1} threshold
}

// Headings are the titles.
func (p Plain) Headings() *PlainHeadings { return &p.c.plainHeadings }

// Facts says when was tested and, if they are, which sides are compared: sentences.
func (p Plain) Facts(tested time.Time, involved shoulder.Side, compared bool) []string {
	facts := []string{p.c.sentence(p.c.plain.checked, p.c.Date(tested))}
	if involved != shoulder.SideUnknown && compared {
		facts = append(facts, p.c.sentence(p.c.plain.compared, p.c.Side(involved), p.c.Side(involved.Other())))
	}
	return facts
}

// Growing says what is different for a patient who is still growing, if this one may be:
// sentences.
func (p Plain) Growing(of *plan.Plan) []string {
	if !slices.Contains(of.Cautions, plan.GrowingPatient) {
		return nil
	}
	return []string{p.c.plain.growing}
}

// Decision says what the overall status means: sentences.
func (p Plain) Decision(r *readiness.Readiness) string {
	switch {
	case r.Overall == readiness.NotCleared && r.Tissue.Healing.Basis == healing.Refused:
		return p.c.plain.refused
	case r.Overall == readiness.Strengthening && r.FirstVisit && r.ComparisonAffected:
		return p.c.plain.noYardstickAt1
	case r.Overall == readiness.Strengthening && r.FirstVisit:
		return p.c.plain.strengthenAt1
	case r.Overall == readiness.Strengthening && r.ComparisonAffected:
		return p.c.plain.noYardstick
	case r.Overall == readiness.Strengthening && r.AllConfirmed() && len(r.Concerns) > 0:
		return p.c.plain.waitConcern // not that the arms are equal: what is said below may be why they look so
	case r.Overall == readiness.Strengthening && r.AllConfirmed() && r.Function.AllEven.Holds():
		return p.c.plain.evenUnlikely
	case r.Overall == readiness.Strengthening && r.AllConfirmed():
		return p.c.plain.waitFunction
	case r.Overall == readiness.ReadyForFunctional && r.Tissue.Healing.Phase < shoulder.LoadSport:
		return p.c.plain.readyNoSport
	}
	return term(p.c.plainTerms.decision, r.Overall)
}

// Alarms are the sentences at the top of the patient's page: whom to call and why, and
// that a test has to be repeated.
func (p Plain) Alarms(r *readiness.Readiness) (lines []string) {
	if r.Examine() {
		lines = append(lines, p.c.plain.examine)
	}
	for i := range r.Flags {
		f := &r.Flags[i]
		if f.Holds() || !r.Examine() { // of several, those that hold
			lines = append(lines, p.c.fill(term(p.c.plainTerms.flag, f.Code), p.flagged(f, r.ComparisonAffected)))
		}
	}
	if r.Incomplete {
		lines = append(lines, p.c.plain.incomplete)
	}
	if examined := lastExamined(r.Flags); examined != nil && !r.Examine() {
		lines = append(lines, p.c.fill(p.c.plain.flagExamined, p.c.Date(examined.When)))
	}
	if len(r.Doubts) > 0 {
		lines = append(lines, p.c.plain.doubted)
	}
	return lines
}

func lastExamined(flags []redflag.Flag) *shoulder.Statement {
	for i := range flags {
		if flags[i].Examined != nil {
			return flags[i].Examined
		}
	}
	return nil
}

// flagged is the numbers that show a red flag, with their dates, and the latest one; with the
// side where both are affected.
func (p Plain) flagged(f *redflag.Flag, both bool) string {
	numbers := p.flagNumbers(f)
	if !f.Since.When.IsZero() {
		numbers = p.c.fill(p.c.plain.flagSince, numbers, p.c.flagValue(f.Since), p.c.Date(f.Since.When))
	}
	if both && f.Side != shoulder.SideUnknown {
		numbers = p.c.fill(p.c.phrases.labelled, p.c.Side(f.Side), numbers)
	}
	return numbers
}

func (p Plain) flagNumbers(f *redflag.Flag) string {
	now, date := p.c.flagValue(f.Now), p.c.Date(f.Now.When)
	switch {
	case f.Code == redflag.ResistedBeforeClearance:
		return date
	case f.GradeThen != shoulder.GradeUnknown:
		return p.c.fill(p.c.plain.flagThen, p.c.Grade(f.GradeThen), p.c.Date(f.Then.When), p.c.Grade(f.Grade), date)
	case f.Grade != shoulder.GradeUnknown:
		now = p.c.Grade(f.Grade)
	case !f.Then.When.IsZero() && f.Code != redflag.CannotLift:
		return p.c.fill(p.c.plain.flagThen, p.c.flagValue(f.Then), p.c.Date(f.Then.When), now, date)
	}
	return p.c.fill(p.c.plain.flagNow, now, date)
}

// Healing says when the operation was, how much at most its healing bears now, and what
// comes next: sentences. It is empty if nothing limits the load. Before an examination
// nothing is said to be allowed; nor is training for daily life or sport, which the tests
// have to allow as well.
func (p Plain) Healing(r *readiness.Readiness) (lines []string) {
	h := &r.Tissue.Healing
	if h.Basis == healing.NoRepair {
		return nil
	}
	if h.Dated() {
		lines = append(lines, p.c.fill(p.c.plain.healing, p.c.Date(h.Repair.Date), p.c.weeks(h)))
	}
	if r.Examine() {
		return lines
	}
	phase := func(l shoulder.LoadPhase) string { return term(p.c.plainTerms.loadPhase, l) }
	if untested(r) {
		return append(lines, p.c.plain.healingTests)
	}
	if h.Repair == nil { // nobody operated
		return append(lines, p.c.fill(p.c.plain.loadMost, phase(h.Phase)))
	}
	lines = append(lines, p.c.fill(p.c.plain.healingMost, phase(h.Phase)))
	switch {
	case h.Next == h.Phase:
	case h.NextDate.IsZero():
		lines = append(lines, p.c.fill(p.c.plain.healingAsk, phase(h.Next)))
	default:
		lines = append(lines, p.c.fill(p.c.plain.healingNext, phase(h.Next), p.c.Date(h.NextDate)))
	}
	return lines
}

// untested reports whether a repair bears functional work or sport, and the tests do not
// say so: what healing bears must not be read as leave to do it.
func untested(r *readiness.Readiness) bool {
	return r.Tissue.Healing.Phase >= shoulder.LoadFunctional && r.Overall != readiness.ReadyForFunctional
}

// Motion names a direction: "turning the arm out".
func (p Plain) Motion(r shoulder.Motion) string { return term(p.c.plainTerms.motion, r) }

// HowMeasured says what the numbers mean: sentences. With alone the comparison of both
// sides is left out.
func (p Plain) HowMeasured(even protocol.Threshold, alone bool) string {
	if alone {
		return p.c.plain.howTested
	}
	return p.c.fill(p.c.plain.howMeasured, p.c.Threshold(even))
}

// test names a rotation in a position: "turning out, arm lifted forward".
func (p Plain) test(r shoulder.Motion, at shoulder.ArmPosition) string {
	return p.c.fill(p.c.plain.test, p.MotionShort(r), p.PositionShort(at))
}

// Position says how strong a rotation is in a position: a sentence. A number in doubt is
// left out.
func (p Plain) Position(at *readiness.PositionReadiness, r shoulder.Motion, noUnaffectedSide bool, thresholds ...protocol.Threshold) string {
	test, level := p.test(r, at.Position), p.Level(at, noUnaffectedSide)
	s := cmp.Or(at.Symmetry, at.Stale)
	if s == nil {
		return p.c.sentence(p.c.plain.noIndex, test, level)
	}
	return p.c.sentence(p.c.plain.index, test, p.c.inUnit(p.c.Index(s.Index, thresholds...), "%"), level)
}

// Measured is the number of a position without the verdict: a sentence. It is empty if
// there is none, or if it is in doubt.
func (p Plain) Measured(at *readiness.PositionReadiness, r shoulder.Motion, thresholds ...protocol.Threshold) string {
	if at.Symmetry == nil {
		return ""
	}
	return p.c.sentence(p.c.plain.noIndex, p.test(r, at.Position), p.c.inUnit(p.c.Index(at.Symmetry.Index, thresholds...), "%"))
}

// Changed says what got clearly better or worse since the first test: a sentence.
func (p Plain) Changed(changes []*measure.Change, d measure.Direction) string {
	var what []string
	for _, k := range changes {
		var text string
		switch k.Subject {
		case measure.RangeChange:
			text = term(p.c.plainTerms.movement, k.Movement)
		case measure.PainChange:
			text = p.c.plain.painChanged
		case measure.OutcomeChange:
			text = p.c.Outcome(k.Outcome)
		default:
			text = p.c.fill(p.c.phrases.withReason, p.MotionShort(k.Setting.Motion), p.PositionShort(k.Setting.Position))
		}
		if !slices.Contains(what, text) { // active and passive range, pain of several occasions
			what = append(what, text)
		}
	}
	phrase := p.c.plain.better
	if d == measure.Declined {
		phrase = p.c.plain.worse
	}
	return p.c.sentence(phrase, p.c.some(what, mostChanged))
}

// mostChanged is how many changes are named on the patient's page, so that they fit two
// lines.
const mostChanged = 2

// Level is the verdict on strength in a position.
func (p Plain) Level(at *readiness.PositionReadiness, noUnaffectedSide bool) string {
	return p.c.fill(term(p.c.plainTerms.level, levelOf(at, noUnaffectedSide)), p.c.Grade(at.Grade))
}

// Range says how far the arm lifts and whether that is enough, if the gate is
// not nil: a sentence.
func (p Plain) Range(r *measure.RangeScore, gate *readiness.Criterion) string {
	comes := ""
	switch {
	case gate == nil:
	case gate.Verdict == readiness.Met:
		comes = p.c.plain.reachEnough
	case gate.Verdict == readiness.NotMet:
		needed := gate.Threshold
		needed.Unit = gate.Unit
		comes = p.c.fill(p.c.plain.reachNeeded, p.c.threshold(needed, roundedUp(*gate.Needed, places(*gate.Needed, gate.Unit))))
	}
	text := p.c.fill(p.c.plain.reach, term(p.c.plainTerms.movement, r.Movement), p.c.Quantity(r.Degrees, "deg"), comes)
	return Capital(strings.TrimSpace(text))
}

// Pain says how much the test hurt and, unless the shoulder is to be examined first,
// whether that is fine: sentences.
func (p Plain) Pain(k *readiness.Criterion, examine bool) string {
	comes := p.c.plain.painFine
	switch {
	case examine:
		comes = ""
	case k.Verdict == readiness.NotMet:
		comes = p.c.plain.painTooMuch
	}
	return strings.TrimSpace(p.c.fill(p.c.plain.pain, p.c.Quantity(*k.Value, k.Unit, k.Threshold.Value), p.c.fill(comes, p.c.Threshold(k.Threshold))))
}

// Dose says who decides how often and how hard to exercise, a sentence.
func (p Plain) Dose() string { return p.c.plain.dose }

// NoExercise says that there is nothing to train, a sentence.
func (p Plain) NoExercise(plan *plan.Plan) string {
	if plan.Examine {
		return p.c.plain.noExerciseYet
	}
	return p.c.plain.noExercise
}

// Exercise names an exercise in a line: a sentence. One that needs a partner is marked for
// the clinic.
func (p Plain) Exercise(e *plan.Exercise) string {
	text := p.exercise(e)
	if !e.AtHome() {
		text = p.c.fill(p.c.plain.onlyClinic, text)
	}
	return p.c.Sentence(text)
}

func (p Plain) exercise(e *plan.Exercise) string {
	switch {
	case e.Purpose == plan.RestoreRange:
		return p.c.fill(p.c.plain.exerciseRange, term(p.c.plainTerms.movement, e.Movement))
	case e.Purpose == plan.BeginFunction:
		return p.c.plain.beginFunction
	case e.Purpose == plan.FullFunction && slices.Contains(e.Cues, plan.NoSportYet):
		return p.c.plain.fullDaily
	case e.Purpose == plan.FullFunction:
		return p.c.plain.fullFunction
	case e.Support == shoulder.SupportUnstated:
		return p.test(e.Motion, e.Position)
	}
	return p.test(e.Motion, e.Position) + p.c.phrases.listJoin + term(p.c.plainTerms.support, e.Support)
}

// Mode says how resistance is met, a sentence.
func (p Plain) Mode(m plan.Mode) string { return term(p.c.plainTerms.mode, m) }

// Cue is a set-up instruction: sentences.
func (p Plain) Cue(k plan.Cue) string { return term(p.c.plainTerms.cue, k) }

// Check says when the next test is, and what is to be found out first:
// sentences.
func (p Plain) Check(plan *plan.Plan) []string {
	if plan.Examine {
		return []string{p.c.sentence(p.c.plain.examineBy, p.c.Date(plan.Recheck.To))}
	}
	phrase := p.c.plain.recheck
	if plan.Sooner != 0 {
		phrase = p.c.plain.recheckSooner
	}
	check := []string{p.c.sentence(phrase, p.c.Date(plan.Recheck.From), p.c.Date(plan.Recheck.To))}
	if asked := p.asked(plan); len(asked) > 0 {
		check = append(check, p.c.sentence(p.c.plain.firstAsk, strings.Join(asked, p.c.phrases.partJoin)))
	}
	return check
}

// asked is what is to be found out at the next visit, each once.
func (p Plain) asked(plan *plan.Plan) (asked []string) {
	for i := range plan.Requests {
		what := p.c.fill(term(p.c.plainTerms.ask, plan.Requests[i].Ask), p.c.Outcome(plan.Requests[i].Outcome))
		if plan.Requests[i].First && !slices.Contains(asked, what) {
			asked = append(asked, what)
		}
	}
	return asked
}

// Help lists the reasons to stop, and whom to ask: sentences.
func (p Plain) Help() string {
	return p.c.sentence(p.c.plain.helpIntro, strings.Join(p.c.plainTerms.help, p.c.phrases.partJoin))
}

// Closing says what the page does not replace: sentences.
func (p Plain) Closing() string { return p.c.plain.closing }

// ChartTitle is the title of the chart.
func (p Plain) ChartTitle() string { return p.c.plain.chart }

// ChartSides says which side is shown in per cent of which, a sentence; empty if
// that is not known.
func (p Plain) ChartSides(involved shoulder.Side) string {
	if involved == shoulder.SideUnknown {
		return ""
	}
	return p.c.sentence(p.c.plain.chartSides, p.c.Side(involved), p.c.Side(involved.Other()))
}

// ChartNote says what the marks of the chart mean: sentences. Together says that several
// tests count together.
func (p Plain) ChartNote(together bool) string {
	if together {
		return p.c.plain.chartNotes
	}
	return p.c.plain.chartNote
}

// ChartTogether is what all tests show together: a sentence. No number is printed as a limit
// that it does not reach.
func (p Plain) ChartTogether(now *course.Estimate, limits ...float64) string {
	whole := func(x float64) string { return p.c.localised(estimate(x, 0, limits...)) }
	return p.c.sentence(p.c.plain.chartTogether, p.c.inUnit(whole(now.Index), "%"), whole(now.Low), whole(now.High))
}

// EvenLine labels the line of evenness in the chart.
func (p Plain) EvenLine(t protocol.Threshold) string {
	return p.c.fill(p.c.plain.chartEven, p.c.inUnit(inFull(t.Value), t.Unit))
}

// GoodEnoughLine labels the line of a position that is good enough to move on.
func (p Plain) GoodEnoughLine(t protocol.Threshold) string {
	return p.c.fill(p.c.plain.chartEnough, p.c.inUnit(inFull(t.Value), t.Unit))
}

// MotionShort names a direction at the side of the chart.
func (p Plain) MotionShort(r shoulder.Motion) string {
	return term(p.c.plainTerms.rotationShort, r)
}

// PositionShort names a position at the head of the chart.
func (p Plain) PositionShort(at shoulder.ArmPosition) string {
	return term(p.c.plainTerms.positionShort, at)
}
