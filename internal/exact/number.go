// Package exact is arithmetic without rounding on the decimal numbers that
// instruments and clinicians write down. A decision about a threshold is taken
// here, never on a binary floating-point number: 0.9 x 100 N is 90 N.
package exact

import (
	"errors"
	"fmt"
	"math/big"
	"strings"

	"github.com/cockroachdb/apd/v3"
)

// Number is an exact rational number: a decimal divided by a decimal. It is a
// value; no operation changes its operands. The zero Number is 0.
type Number struct {
	num apd.Decimal
	den apd.Decimal // zero stands for 1, so that the zero Number is usable
}

// MaxDigits bounds the digits, and the exponent of ten either way, of a parsed
// number, so that hostile input stays cheap. No instrument comes near it.
const MaxDigits = 40

// ErrNotNumber is returned for a text that is no finite decimal within
// MaxDigits.
var ErrNotNumber = errors.New("not a decimal number of at most 40 digits")

// exactly computes without rounding: precision 0 means as many digits as needed.
var exactly = apd.Context{MaxExponent: apd.MaxExponent, MinExponent: apd.MinExponent}

// Parse reads a decimal such as "12.40" or "1.2e1".
func Parse(s string) (Number, error) {
	if len(s) > 2*MaxDigits {
		return Number{}, ErrNotNumber
	}
	var n Number
	if _, _, err := n.num.SetString(s); err != nil || n.num.Form != apd.Finite {
		return Number{}, ErrNotNumber
	}
	if n.num.NumDigits() > MaxDigits || n.num.Exponent > MaxDigits || n.num.Exponent < -MaxDigits {
		return Number{}, ErrNotNumber
	}
	return n, nil
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
	var x Number
	x.num.SetInt64(n)
	return x
}

// isDecimal reports whether the denominator is 1.
func (x *Number) isDecimal() bool { return x.den.IsZero() }

// denominator returns the denominator, which is never zero.
func (x *Number) denominator() *apd.Decimal {
	if x.isDecimal() {
		return &one
	}
	return &x.den
}

var one = *apd.New(1, 0)

func mul(a, b *apd.Decimal) (d apd.Decimal) {
	// The only conditions of exact arithmetic are exponents beyond 100,000,
	// which MaxDigits keeps away.
	_, _ = exactly.Mul(&d, a, b)
	return d
}

// Add returns x + y.
func (x Number) Add(y Number) (z Number) {
	if x.isDecimal() && y.isDecimal() {
		_, _ = exactly.Add(&z.num, &x.num, &y.num)
		return z
	}
	left, right := mul(&x.num, y.denominator()), mul(&y.num, x.denominator())
	_, _ = exactly.Add(&z.num, &left, &right)
	z.den = mul(x.denominator(), y.denominator())
	return z
}

// Sub returns x - y.
func (x Number) Sub(y Number) Number { return x.Add(y.Neg()) }

// Mul returns x y.
func (x Number) Mul(y Number) (z Number) {
	z.num = mul(&x.num, &y.num)
	if !x.isDecimal() || !y.isDecimal() {
		z.den = mul(x.denominator(), y.denominator())
	}
	return z
}

// Quo returns x / y, and false if y is zero.
func (x Number) Quo(y Number) (z Number, ok bool) {
	if y.num.IsZero() {
		return Number{}, false
	}
	z.num = mul(&x.num, y.denominator())
	z.den = mul(x.denominator(), &y.num)
	if z.den.Negative {
		z.num.Negative, z.den.Negative = !z.num.Negative, false
	}
	return z, true
}

// Cmp returns -1, 0 or +1 as x is less than, equal to or greater than y.
func (x Number) Cmp(y Number) int {
	if x.isDecimal() && y.isDecimal() {
		return x.num.Cmp(&y.num)
	}
	left, right := mul(&x.num, y.denominator()), mul(&y.num, x.denominator())
	return left.Cmp(&right)
}

// Sign returns -1, 0 or +1.
func (x Number) Sign() int { return x.num.Sign() }

// Neg returns -x.
func (x Number) Neg() (z Number) {
	_, _ = exactly.Neg(&z.num, &x.num)
	z.den = x.den
	return z
}

// Abs returns the absolute value of x.
func (x Number) Abs() Number {
	if x.Sign() < 0 {
		return x.Neg()
	}
	return x
}

// Float64 returns the nearest float64, for statistics that are estimates
// anyway. It is never used to decide.
func (x Number) Float64() float64 {
	num, _ := x.num.Float64()
	if x.isDecimal() {
		return num
	}
	den, _ := x.den.Float64()
	return num / den
}

// Sum returns the sum of the numbers, 0 for none.
func Sum(numbers ...Number) (total Number) {
	for _, n := range numbers {
		total = total.Add(n)
	}
	return total
}

// Text writes x with the given number of decimal places, halves away from
// zero.
func (x Number) Text(places int) string { return x.rat().FloatString(places) }

// TextBeside writes x as Text does, but with as many more places as it takes
// not to print it on, or beyond, a threshold that it does not reach: 89.96
// beside the threshold 90 is "89.96", never "90.0".
func (x Number) TextBeside(threshold Number, places int) string {
	r, t := x.rat(), threshold.rat()
	want := r.Cmp(t)
	for {
		text := r.FloatString(places)
		if printed, ok := new(big.Rat).SetString(text); ok && printed.Cmp(t) == want || places > 2*MaxDigits {
			return text
		}
		places++
	}
}

func (x *Number) rat() *big.Rat {
	r := decimalRat(&x.num)
	if !x.isDecimal() {
		r.Quo(r, decimalRat(&x.den))
	}
	return r
}

func decimalRat(d *apd.Decimal) *big.Rat {
	coefficient := d.Coeff.MathBigInt()
	if d.Negative {
		coefficient.Neg(coefficient)
	}
	r := new(big.Rat).SetInt(coefficient)
	if d.Exponent == 0 {
		return r
	}
	exponent := big.NewInt(int64(d.Exponent))
	power := new(big.Rat).SetInt(exponent.Exp(big.NewInt(10), exponent.Abs(exponent), nil))
	if d.Exponent < 0 {
		return r.Quo(r, power)
	}
	return r.Mul(r, power)
}

// String writes a decimal as it was given, and a quotient to at most 12 places.
func (x Number) String() string {
	if x.isDecimal() {
		return x.num.Text('f')
	}
	return strings.TrimRight(strings.TrimRight(x.Text(12), "0"), ".")
}

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
