package measure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
)

// Certainty is how sure it is that a true value meets a threshold, whatever the measured one
// does: five grades of its probability.
type Certainty uint8

// The certainties, from the least probable to the most.
const (
	NoCertainty Certainty = iota // there is nothing to be sure of
	ClearlyNot
	ProbablyNot
	NotClear
	ProbablyMet
	ClearlyMet
)

// String is the code of the certainty in the project's code system.
func (c Certainty) String() string {
	return [...]string{"none", "clearly-not", "probably-not", "not-clear", "probably-met", "clearly-met"}[c]
}

// Met reports whether the threshold is at least probably met.
func (c Certainty) Met() bool { return c >= ProbablyMet }

// Not reports whether the threshold is at most probably not met.
func (c Certainty) Not() bool { return c == ClearlyNot || c == ProbablyNot }

// CertaintyOf grades the probability that a true value meets a threshold.
func CertaintyOf(probability float64, p *protocol.Protocol) Certainty {
	sure, probable := p.Certainty.Clear.Value.Float64(), p.Certainty.Probable.Value.Float64()
	switch percent := 100 * probability; {
	case percent >= sure:
		return ClearlyMet
	case percent >= probable:
		return ProbablyMet
	case percent <= 100-sure:
		return ClearlyNot
	case percent <= 100-probable:
		return ProbablyNot
	}
	return NotClear
}

// CertaintyOfMargin is CertaintyOf for a measured value that meets its threshold by a margin,
// or misses it by a negative one, and the smallest difference of two such values that counts
// as a change. Both are in the unit of the value.
//
// The standard error of one value is that change / (z sqrt(2)), with the two-sided quantile z
// of the confidence of changes.
//
// Source: Weir 2005, J Strength Cond Res 19:231-40.
func CertaintyOfMargin(margin, change exact.Number, p *protocol.Protocol) Certainty {
	sem := change.Float64() / (quantile(p.Error.Change.Float()) * math.Sqrt2)
	if sem == 0 {
		return CertaintyOfFact(margin.Sign() >= 0)
	}
	return CertaintyOf(distuv.UnitNormal.CDF(margin.Float64()/sem), p)
}

// CertaintyOfGain is how sure it is that a true value rose at all.
func CertaintyOfGain(k *Change, p *protocol.Protocol) Certainty {
	if k.Detectable == 0 {
		return CertaintyOfFact(k.Difference.Sign() > 0)
	}
	return CertaintyOf(distuv.UnitNormal.CDF(quantile(p.Error.Change.Float())*k.Difference.Float64()/k.Detectable), p)
}

// CertaintyOfFact is the certainty of what is known without error.
func CertaintyOfFact(met bool) Certainty {
	if met {
		return ClearlyMet
	}
	return ClearlyNot
}

// CertaintyOfGrade is the certainty of a grade of the manual muscle test, which never shows
// anything clearly.
//
// Source: ours, after Tyler et al. 2005, J Shoulder Elbow Surg 14:570-4 (patients graded
// normal had a 28 % deficit in external rotation).
func CertaintyOfGrade(met bool) Certainty {
	if met {
		return ProbablyMet
	}
	return ProbablyNot
}
