// Package exact is arithmetic without rounding on the decimal numbers that
// instruments and clinicians write down. A decision about a threshold is taken
// here, never on a binary floating-point number: 0.9 x 100 N is 90 N.
package exact

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// Number is an exact rational number. It is a value; no operation changes its
// operands. The zero Number is 0.
//
// A number that an instrument shows, and what is computed from a few of them,
// fits the small form: num x 10^exp / den. Whatever does not fit is kept as a
// big.Rat, which is slower and just as exact.
type Number struct {
	num int64 // never the least int64, which has no opposite
	den int64 // above 0; 0 stands for 1, so that the zero Number is usable
	exp int32 // at most 0
	big *big.Rat
}

// MaxDigits bounds the digits, and the exponent of ten either way, of a parsed
// number, so that hostile input stays cheap. No instrument comes near it.
const MaxDigits = 40

// ErrNotNumber is returned for a text that is no finite decimal within
// MaxDigits.
var ErrNotNumber = errors.New("not a decimal number of at most 40 digits")

// Parse reads a decimal such as "12.40" or "1.2e1".
func Parse(s string) (Number, error) {
	d, ok := scan(s)
	if !ok || d.digits > MaxDigits || d.exp > MaxDigits || d.exp < -MaxDigits {
		return Number{}, ErrNotNumber
	}
	if d.fits && d.exp <= 0 {
		return Number{num: d.num, exp: d.exp}, nil
	}
	r, ok := new(big.Rat).SetString(strings.Clone(s)) // a clone, so that a caller need not allocate s
	if !ok {
		return Number{}, ErrNotNumber
	}
	return fromRat(r), nil
}

// MustParse is Parse for constants of the program; it panics on a bad text.
func MustParse(s string) Number {
	n, err := Parse(s)
	if err != nil {
		panic(fmt.Sprintf("exact: constant %q: %v", s, err))
	}
	return n
}

// Int returns n as a Number.
func Int(n int64) Number {
	if n == math.MinInt64 {
		return Number{big: new(big.Rat).SetInt64(n)}
	}
	return Number{num: n}
}

// fromRat returns r as a Number, in the small form if it fits. It keeps r.
func fromRat(r *big.Rat) Number {
	if r.Num().IsInt64() && r.Denom().IsInt64() && r.Num().Int64() != math.MinInt64 {
		return Number{num: r.Num().Int64(), den: r.Denom().Int64()}
	}
	return Number{big: r}
}

func (x Number) denominator() int64 { return max(x.den, 1) }

// Add returns x + y.
func (x Number) Add(y Number) Number {
	if x.big == nil && y.big == nil {
		if z, ok := addSmall(x, y); ok {
			return z
		}
	}
	return fromRat(new(big.Rat).Add(x.rat(), y.rat()))
}

func addSmall(x, y Number) (z Number, ok bool) {
	z.exp = min(x.exp, y.exp)
	left, okLeft := scaled(x.num, x.exp-z.exp)
	right, okRight := scaled(y.num, y.exp-z.exp)
	if dx, dy := x.denominator(), y.denominator(); dx == dy {
		z.den = x.den
	} else {
		var okDen bool
		left, okLeft = product(left, dy, okLeft)
		right, okRight = product(right, dx, okRight)
		if z.den, okDen = product(dx, dy, true); !okDen {
			return Number{}, false
		}
	}
	z.num = left + right
	overflow := (left > 0) == (right > 0) && (z.num > 0) != (left > 0) && left != 0
	return z, okLeft && okRight && !overflow && z.num != math.MinInt64
}

// Sub returns x - y.
func (x Number) Sub(y Number) Number { return x.Add(y.Neg()) }

// Mul returns x y.
func (x Number) Mul(y Number) Number {
	if x.big == nil && y.big == nil {
		num, ok := product(x.num, y.num, true)
		den, ok := product(x.denominator(), y.denominator(), ok)
		if ok {
			return Number{num: num, den: den, exp: x.exp + y.exp}
		}
	}
	if y == Int(1) { // the factor of most units; spares a search for common divisors
		return x
	}
	return fromRat(new(big.Rat).Mul(x.rat(), y.rat()))
}

// Quo returns x / y, and false if y is zero.
func (x Number) Quo(y Number) (z Number, ok bool) {
	if y.Sign() == 0 {
		return Number{}, false
	}
	if x.big == nil && y.big == nil {
		if z, ok := quoSmall(x, y); ok {
			return z, true
		}
	}
	return fromRat(new(big.Rat).Quo(x.rat(), y.rat())), true
}

func quoSmall(x, y Number) (z Number, ok bool) {
	num, ok := product(x.num, y.denominator(), true)
	den, ok := product(x.denominator(), y.num, ok)
	switch z.exp = x.exp - y.exp; {
	case !ok:
		return Number{}, false
	case z.exp > 0: // only negative exponents are kept
		num, ok = scaled(num, z.exp)
		z.exp = 0
	}
	if den < 0 {
		num, den = -num, -den
	}
	z.num, z.den = num, den
	return z, ok
}

// Cmp returns -1, 0 or +1 as x is less than, equal to or greater than y.
func (x Number) Cmp(y Number) int {
	if x.big == nil && y.big == nil {
		return cmpSmall(x, y)
	}
	if sx, sy := x.Sign(), y.Sign(); sx != sy {
		return cmp.Compare(sx, sy)
	}
	return x.rat().Cmp(y.rat())
}

// Sign returns -1, 0 or +1.
func (x Number) Sign() int {
	switch {
	case x.big != nil:
		return x.big.Sign()
	case x.num > 0:
		return 1
	case x.num < 0:
		return -1
	}
	return 0
}

// Neg returns -x.
func (x Number) Neg() Number {
	if x.big != nil {
		return Number{big: new(big.Rat).Neg(x.big)}
	}
	x.num = -x.num
	return x
}

// Abs returns the absolute value of x.
func (x Number) Abs() Number {
	if x.Sign() < 0 {
		return x.Neg()
	}
	return x
}

// Float64 returns x as a float64, to within rounding, for statistics that are
// estimates anyway. It is never used to decide.
func (x Number) Float64() float64 {
	if x.big != nil {
		f, _ := x.big.Float64()
		return f
	}
	f := float64(x.num)
	if x.den > 1 {
		f /= float64(x.den)
	}
	if x.exp < 0 {
		f /= math.Pow10(int(-x.exp))
	}
	return f
}

// Round returns x with the given number of decimal places, halves away from
// zero: the number that Text writes.
func (x Number) Round(places int) Number {
	if x.big == nil {
		if r, ok := roundSmall(x, places); ok {
			return r
		}
	}
	r, _ := new(big.Rat).SetString(x.rat().FloatString(places))
	return fromRat(r)
}

// RoundUp is x rounded to so many decimal places, or the next number of so many
// places if that lies below x.
func (x Number) RoundUp(places int) Number {
	rounded := x.Round(places)
	if rounded.Cmp(x) >= 0 {
		return rounded
	}
	return rounded.Add(Number{num: 1, exp: int32(-places)})
}

// Text writes x with the given number of decimal places, halves away from
// zero. What rounds to zero has no sign.
func (x Number) Text(places int) string {
	var space [64]byte // enough for most
	return string(x.Append(space[:0], places))
}

// Append is Text, appending to text.
func (x Number) Append(text []byte, places int) []byte {
	if x.big == nil {
		if r, ok := roundSmall(x, places); ok {
			return r.appendDecimal(text, places)
		}
	}
	return append(text, positiveZero(x.rat().FloatString(places))...)
}

// positiveZero takes the sign off a number that rounds to zero.
func positiveZero(text string) string {
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// PlacesFor is the number of decimal places with which x must be printed for the
// printed number to compare with a threshold as x does: at least places, more where
// rounding would reach or cross the threshold, at most 2 MaxDigits. For 89.96 and
// the threshold 90 it is two, because one place would print 90.0.
func (x Number) PlacesFor(threshold Number, places int) int {
	for want := x.Cmp(threshold); places < 2*MaxDigits && x.Round(places).Cmp(threshold) != want; {
		places++
	}
	return places
}

// rat is x as a big.Rat that must not be changed.
func (x Number) rat() *big.Rat {
	if x.big != nil {
		return x.big
	}
	r := big.NewRat(x.num, x.denominator())
	if x.exp < 0 {
		power := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(-x.exp)), nil)
		r.Quo(r, new(big.Rat).SetInt(power))
	}
	return r
}

// String writes a decimal in full, and a quotient to at most 12 decimal places.
func (x Number) String() string {
	switch {
	case x.big != nil || x.denominator() != 1:
		return trimZeros(x.Text(12))
	case x.exp == 0:
		return strconv.FormatInt(x.num, 10)
	}
	return x.Text(int(-x.exp))
}

func trimZeros(s string) string { return strings.TrimRight(strings.TrimRight(s, "0"), ".") }

// MarshalText writes x as String does.
func (x Number) MarshalText() ([]byte, error) { return []byte(x.String()), nil }

// UnmarshalText reads a decimal.
func (x *Number) UnmarshalText(text []byte) (err error) {
	*x, err = Parse(string(text))
	return err
}

// MarshalJSON writes x as a JSON number.
func (x Number) MarshalJSON() ([]byte, error) { return x.MarshalText() }

// UnmarshalJSON reads a JSON number; a number in quotes is refused.
func (x *Number) UnmarshalJSON(text []byte) error { return x.UnmarshalText(text) }
