package reliability

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is a number with its two-sided confidence interval.
type Estimate struct{ Value, Low, High float64 }

// TwoWay is the analysis of n subjects measured k times each.
//
// Sources: Shrout and Fleiss 1979, Psychol Bull 86:420-8 (the coefficients and
// their intervals); Weir 2005, J Strength Cond Res 19:231-40 (errors).
type TwoWay struct {
	Subjects, Trials int
	Mean             float64
	TrialMeans       []float64

	// Mean squares of the two-way analysis of variance.
	MSSubjects, MSTrials, MSError, MSWithin float64

	ICC11 Estimate // one-way random, single score
	ICC21 Estimate // two-way random, absolute agreement, single score
	ICC31 Estimate // two-way mixed, consistency, single score

	// The standard error of measurement in the unit of the data: with systematic
	// differences between trials in it, sqrt(MSWithin), and without, sqrt(MSError).
	SEMAgreement, SEMConsistency float64
}

// Errors of data that cannot be analysed.
var (
	ErrTooFew   = errors.New("at least 3 subjects with at least 2 trials each are needed")
	ErrRagged   = errors.New("every subject needs the same number of trials")
	ErrNoSpread = errors.New("all subjects have the same scores, so reliability cannot be told")
)

// fewestSubjects is where an F distribution still has degrees of freedom to
// speak of.
const fewestSubjects = 3

// AnalyseTwoWay computes the table from rows of trials, one row a subject, with
// intervals of a confidence in per cent.
func AnalyseTwoWay(rows [][]float64, confidence float64) (*TwoWay, error) {
	if len(rows) < fewestSubjects || len(rows[0]) < 2 {
		return nil, ErrTooFew
	}
	for _, row := range rows {
		if len(row) != len(rows[0]) {
			return nil, ErrRagged
		}
	}
	s := &TwoWay{Subjects: len(rows), Trials: len(rows[0])}
	s.analyseVariance(rows)
	if s.MSSubjects == 0 {
		return nil, ErrNoSpread
	}
	alpha := 1 - confidence/100
	s.ICC11, s.ICC21, s.ICC31 = s.icc11(alpha), s.icc21(alpha), s.icc31(alpha)
	s.SEMAgreement, s.SEMConsistency = math.Sqrt(s.MSWithin), math.Sqrt(s.MSError)
	return s, nil
}

func (s *TwoWay) analyseVariance(rows [][]float64) {
	n, k := float64(s.Subjects), float64(s.Trials)
	subjects := make([]float64, s.Subjects)
	s.TrialMeans = make([]float64, s.Trials)
	for i, row := range rows {
		subjects[i] = stat.Mean(row, nil)
		for j, x := range row {
			s.TrialMeans[j] += x / n
		}
	}
	s.Mean = stat.Mean(subjects, nil)
	var within, residual float64
	for i, row := range rows {
		for j, x := range row {
			within += square(x - subjects[i])
			residual += square(x - subjects[i] - s.TrialMeans[j] + s.Mean)
		}
	}
	s.MSSubjects = k * stat.Variance(subjects, nil)
	s.MSTrials = n * stat.Variance(s.TrialMeans, nil)
	s.MSWithin = within / (n * (k - 1))
	s.MSError = residual / ((n - 1) * (k - 1))
}

func (s *TwoWay) icc11(alpha float64) Estimate {
	n, k := float64(s.Subjects), float64(s.Trials)
	return s.consistency(s.MSWithin, n-1, n*(k-1), alpha)
}

func (s *TwoWay) icc31(alpha float64) Estimate {
	n, k := float64(s.Subjects), float64(s.Trials)
	return s.consistency(s.MSError, n-1, (n-1)*(k-1), alpha)
}

// consistency is (F - 1) / (F + k - 1) for F = MSSubjects / error, with the
// interval of F.
func (s *TwoWay) consistency(meanSquare, df1, df2, alpha float64) Estimate {
	k := float64(s.Trials)
	ratio := func(f float64) float64 {
		if math.IsInf(f, 1) {
			return 1
		}
		return (f - 1) / (f + k - 1)
	}
	f := s.MSSubjects / meanSquare
	return Estimate{
		Value: ratio(f),
		Low:   ratio(f / quantileF(1-alpha/2, df1, df2)),
		High:  ratio(f * quantileF(1-alpha/2, df2, df1)),
	}
}

// icc21 has the interval of Shrout and Fleiss, with Satterthwaite's degrees of
// freedom for the denominator.
func (s *TwoWay) icc21(alpha float64) Estimate {
	n, k := float64(s.Subjects), float64(s.Trials)
	e := Estimate{Value: (s.MSSubjects - s.MSError) / (s.MSSubjects + (k-1)*s.MSError + k*(s.MSTrials-s.MSError)/n)}
	if e.Value >= 1 {
		return Estimate{1, 1, 1}
	}
	a := k * e.Value / (n * (1 - e.Value))
	b := 1 + k*e.Value*(n-1)/(n*(1-e.Value))
	df := square(a*s.MSTrials+b*s.MSError) / (square(a*s.MSTrials)/(k-1) + square(b*s.MSError)/((n-1)*(k-1)))
	rest := k*s.MSTrials + (k*n-k-n)*s.MSError
	low, high := quantileF(1-alpha/2, n-1, df), quantileF(1-alpha/2, df, n-1)
	e.Low = n * (s.MSSubjects - low*s.MSError) / (low*rest + n*s.MSSubjects)
	e.High = n * (high*s.MSSubjects - s.MSError) / (rest + n*high*s.MSSubjects)
	return e
}

func quantileF(p, df1, df2 float64) float64 { return distuv.F{D1: df1, D2: df2}.Quantile(p) }

func square(x float64) float64 { return x * x }
