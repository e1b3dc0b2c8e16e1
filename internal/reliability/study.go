package reliability

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
)

// Study is what test-retest data come to. Percentages are of the strength: standard
// deviations of its logarithm, as coefficients of variation.
type Study struct {
	Subjects, Scores int
	Targets          int // sides and tests of all subjects together
	Sessions, Raters []string
	Trials           float64 // harmonic mean of the number of trials in a session
	LeftOut          []string
	Doubts           []string // scores that look like slips of the pen

	Means []Mean
	// Repeats are the errors of a session's mean, by what was varied; the last one is
	// the widest. It is empty if there is one session by one rater.
	Repeats []Repeat
	// TrialError is the error of a single trial against others of its session, in per
	// cent, without differences between the means of trials; 0 with one trial only.
	TrialError float64
	// Tables are the coefficients of each test and side.
	Tables []Table

	trial float64 // variance of a single trial
	tests int     // most tests of one side
}

// Mean is that of a session, rater or trial, in per cent of the mean of all.
type Mean struct {
	Factor, Name string
	Percent      float64
}

// Repeat is the error of the mean of a session's trials, with 95 % limits.
type Repeat struct {
	OtherSession, OtherRater bool
	Agreement, Consistency   Estimate
	Degrees                  float64 // of freedom of Agreement

	variance float64 // of agreement
	day      float64 // what of it the tests of a side share on a day
}

// Table is the two-way analysis of variance of one test and side, of the scores as they
// were measured.
type Table struct {
	Name string
	*TwoWay
}

// confidence of all limits, in per cent. Common practice.
const confidence = 95

const (
	// minSubjects are needed. Ours: with fewer the limits span a factor of three
	// and more.
	minSubjects = 5
	// enoughSubjects give an estimate without a warning. Ours: with 20 the limits are
	// about a quarter below and a half above it.
	enoughSubjects = 20
	// slipRatio is the ratio of two repetitions that looks like a slip of the pen. Ours.
	slipRatio = 2
	// negligible is a variance that only rounding makes: of an error of 0.0001 %.
	negligible = 1e-12
)

// design is the data in order: for each target the scores of its occasions.
type design struct {
	occasions []occasion
	trials    []string
	targets   []target
	scores    map[target]map[occasion][]Score
}

// Analyse computes a study. The error says what is missing.
func Analyse(scores []Score) (*Study, error) {
	d := arrange(scores)
	s := &Study{}
	s.LeftOut = d.complete()
	if err := s.count(d); err != nil {
		return nil, err
	}
	s.compareTrials(d)
	for _, varied := range [...][2]bool{{false, true}, {true, false}, {true, true}} {
		s.compareOccasions(d, varied[0], varied[1])
	}
	if len(d.trials) < 2 && len(s.Repeats) == 0 {
		return nil, errors.New("nothing was repeated: expected several sessions, raters or trials of each subject")
	}
	if s.trial < negligible && len(s.Repeats) == 0 || len(s.Repeats) > 0 && s.widest().variance < negligible {
		return nil, errors.New("all repetitions are equal, which no measurement is: were scores copied?")
	}
	s.compareMeans(d)
	s.tabulate(d)
	return s, nil
}

func arrange(scores []Score) *design {
	d := &design{scores: map[target]map[occasion][]Score{}}
	for _, s := range scores {
		if d.scores[s.target()] == nil {
			d.scores[s.target()] = map[occasion][]Score{}
			d.targets = append(d.targets, s.target())
		}
		if !slices.Contains(d.occasions, s.occasion()) {
			d.occasions = append(d.occasions, s.occasion())
		}
		if !slices.Contains(d.trials, s.Trial) {
			d.trials = append(d.trials, s.Trial)
		}
		d.scores[s.target()][s.occasion()] = append(d.scores[s.target()][s.occasion()], s)
	}
	return d
}

// complete leaves out what was not measured on every occasion, and says so.
func (d *design) complete() (leftOut []string) {
	d.targets = slices.DeleteFunc(d.targets, func(t target) bool {
		for _, o := range d.occasions {
			if d.scores[t][o] == nil {
				leftOut = append(leftOut, fmt.Sprintf("%v: nothing of %v", t, o))
				return true
			}
		}
		return false
	})
	return leftOut
}

// count says how much there is, and refuses too little.
func (s *Study) count(d *design) error {
	subjects := map[string]bool{}
	var inverse, sets float64
	for _, t := range d.targets {
		subjects[t.subject] = true
		for _, o := range d.occasions {
			trials := d.scores[t][o]
			s.Scores += len(trials)
			inverse += 1 / float64(len(trials))
			sets++
		}
	}
	s.Subjects, s.Targets, s.Trials = len(subjects), len(d.targets), sets/inverse
	s.tests = d.testsOfASide()
	for _, o := range d.occasions {
		s.Sessions, s.Raters = include(s.Sessions, o.session), include(s.Raters, o.rater)
	}
	if s.Subjects >= minSubjects {
		return nil
	}
	problem := fmt.Sprintf("found %d subjects that were measured on every occasion; expected at least %d, better %d or more", s.Subjects, minSubjects, enoughSubjects)
	if len(s.LeftOut) > 0 {
		problem += "\nsessions need the same names for all, 1 and 2, or must all be dates, as 2026-03-14; left out:\n  " + strings.Join(s.LeftOut[:min(len(s.LeftOut), maxListed)], "\n  ")
	}
	if len(s.Raters) > 1 {
		problem += "\nif raters were not the same for all, leave the column out: --columns \"ignore=...\""
	}
	return errors.New(problem)
}

// testsOfASide is the largest number of tests of one side of a subject.
func (d *design) testsOfASide() (most int) {
	number := map[[2]string]int{}
	for _, t := range d.targets {
		number[[2]string{t.subject, t.side}]++
		most = max(most, number[[2]string{t.subject, t.side}])
	}
	return most
}

func include(list []string, name string) []string {
	if slices.Contains(list, name) {
		return list
	}
	return append(list, name)
}

// mean is the logarithm of the score of an occasion: the mean of the logarithms of its
// trials.
func (d *design) mean(t target, o occasion) float64 {
	var sum float64
	for _, s := range d.scores[t][o] {
		sum += math.Log(s.Value)
	}
	return sum / float64(len(d.scores[t][o]))
}

// compareTrials compares the trials of a session.
func (s *Study) compareTrials(d *design) {
	found := differences{}
	for _, t := range d.targets {
		for _, o := range d.occasions {
			for i, x := range d.scores[t][o] {
				for _, y := range d.scores[t][o][:i] {
					s.doubt(fmt.Sprintf("%v: lines %d and %d", t, y.Line, x.Line), y.Value, x.Value)
					found.addOrdered(t.subject, slices.Index(d.trials, y.Trial), slices.Index(d.trials, x.Trial), math.Log(x.Value/y.Value))
				}
			}
		}
	}
	if len(found) > 0 {
		s.trial = found.spread().consistency
		s.TrialError = percent(s.trial)
	}
}

// addOrdered adds a difference, turned round if the second repetition comes first in
// the list.
func (d differences) addOrdered(subject string, first, second int, value float64) {
	if first > second {
		first, second, value = second, first, -value
	}
	d.add(subject, pair{first, second}, value)
}

// doubt notes two scores that lie too far apart for a measurement.
func (s *Study) doubt(where string, a, b float64) {
	if math.Max(a, b) > slipRatio*math.Min(a, b) {
		s.Doubts = append(s.Doubts, fmt.Sprintf("%s: %.4g and %.4g", where, a, b))
	}
}

// compareOccasions compares the sessions' means that differ in session, in rater or in
// both, and in nothing else.
func (s *Study) compareOccasions(d *design, otherSession, otherRater bool) {
	found, products := differences{}, map[string][]float64{}
	for j, y := range d.occasions {
		for i, x := range d.occasions[:j] {
			if (x.session != y.session) != otherSession || (x.rater != y.rater) != otherRater {
				continue
			}
			values := map[target]float64{}
			for _, t := range d.targets {
				values[t] = d.mean(t, y) - d.mean(t, x)
				s.doubt(fmt.Sprintf("%v: %v and %v", t, x, y), math.Exp(d.mean(t, x)), math.Exp(d.mean(t, y)))
				found.add(t.subject, pair{i, j}, values[t])
			}
			addProducts(products, d.targets, values)
		}
	}
	if len(found) == 0 {
		return
	}
	s.Repeats = append(s.Repeats, s.repeat(found, products, otherSession, otherRater))
}

// addProducts multiplies the differences of two tests of one side of a subject.
func addProducts(products map[string][]float64, targets []target, values map[target]float64) {
	bySide := map[[2]string][]float64{}
	for _, t := range targets {
		key := [2]string{t.subject, t.side}
		for _, other := range bySide[key] {
			products[t.subject] = append(products[t.subject], other*values[t])
		}
		bySide[key] = append(bySide[key], values[t])
	}
}

// repeat works out the error. Its limits take the sides and tests of a subject for one
// and count the fewest occasions, so that they are rather too wide than too narrow.
func (s *Study) repeat(found differences, products map[string][]float64, otherSession, otherRater bool) Repeat {
	const alpha = 1 - confidence/100.0
	occasions := math.MaxInt
	if otherSession {
		occasions = len(s.Sessions)
	}
	if otherRater {
		occasions = min(occasions, len(s.Raters))
	}
	spread, systematic := found.spread(), found.systematic()
	if spread.agreement < negligible {
		return Repeat{}
	}
	df := float64(occasions - 1)
	rest := float64(s.Subjects-1) * df
	r := Repeat{OtherSession: otherSession, OtherRater: otherRater, variance: spread.agreement}
	r.Degrees = satterthwaite(systematic, df, spread.agreement-systematic, rest)
	r.Agreement = limits(spread.agreement, r.Degrees, alpha)
	r.Consistency = limits(spread.consistency, rest, alpha)
	if len(products) > 0 {
		r.day = dayCovariance(products)
	}
	return r
}

// widest is the error with all that was varied in it.
func (s *Study) widest() *Repeat { return &s.Repeats[len(s.Repeats)-1] }

// Between is the part of the error that repeating trials does not lessen, in per cent.
func (s *Study) Between() float64 { return percent(s.between()) }

func (s *Study) between() float64 {
	return math.Max(s.widest().variance-s.trial/s.Trials, 0)
}

// ErrorOf is the error of a mean of n trials, in per cent.
func (s *Study) ErrorOf(n int) float64 { return percent(s.varianceOf(float64(n))) }

func (s *Study) varianceOf(n float64) float64 { return s.between() + s.trial/n }

// DayShare is how much of the variance of a mean of n trials the tests of a side share
// on a day, in per cent; false if there is one test or one session only.
func (s *Study) DayShare(n float64) (share float64, ok bool) {
	if s.tests < 2 || len(s.Repeats) == 0 || !s.widest().OtherSession {
		return 0, false
	}
	return 100 * math.Min(math.Max(s.widest().day/s.varianceOf(n), 0), 1), true
}

// compareMeans compares the means of sessions, raters and trials.
func (s *Study) compareMeans(d *design) {
	var occasions, all []float64
	for _, o := range d.occasions {
		var of []float64
		for _, t := range d.targets {
			of = append(of, d.mean(t, o))
		}
		occasions, all = append(occasions, stat.Mean(of, nil)), append(all, of...)
	}
	grand := stat.Mean(all, nil)
	factor := func(name string, levels []string, of func(occasion) string) {
		if len(levels) < 2 {
			return
		}
		for _, level := range levels {
			var at []float64
			for i, o := range d.occasions {
				if of(o) == level {
					at = append(at, occasions[i])
				}
			}
			s.Means = append(s.Means, Mean{name, level, 100 * math.Exp(stat.Mean(at, nil)-grand)})
		}
	}
	factor("session", s.Sessions, func(o occasion) string { return o.session })
	factor("rater", s.Raters, func(o occasion) string { return o.rater })
	s.compareTrialMeans(d)
}

// compareTrialMeans compares the trials where all of them were done.
func (s *Study) compareTrialMeans(d *design) {
	of := make([][]float64, len(d.trials))
	for _, t := range d.targets {
		for _, o := range d.occasions {
			if len(d.scores[t][o]) < len(d.trials) {
				continue
			}
			for _, x := range d.scores[t][o] {
				i := slices.Index(d.trials, x.Trial)
				of[i] = append(of[i], math.Log(x.Value)-d.mean(t, o))
			}
		}
	}
	if len(d.trials) < 2 || len(of[0]) == 0 {
		return
	}
	for i, name := range d.trials {
		s.Means = append(s.Means, Mean{"trial", name, 100 * math.Exp(stat.Mean(of[i], nil))})
	}
}

// tabulate analyses each test and side by itself, in the unit of the data; what was
// measured of fewer than the fewest subjects is left out.
func (s *Study) tabulate(d *design) {
	rows, names := map[string][][]float64{}, []string(nil)
	for _, t := range d.targets {
		name := joined(t.test, t.side)
		names = include(names, name)
		row := make([]float64, len(d.occasions))
		for i, o := range d.occasions {
			for _, x := range d.scores[t][o] {
				row[i] += x.Value / float64(len(d.scores[t][o]))
			}
		}
		rows[name] = append(rows[name], row)
	}
	for _, name := range names {
		if table, err := AnalyseTwoWay(rows[name], confidence); err == nil && table.Subjects >= minSubjects {
			s.Tables = append(s.Tables, Table{name, table})
		}
	}
}
