// Package exact is arithmetic without rounding on the decimal numbers that
// instruments and clinicians write down. A decision about a threshold is taken
// here, never on a binary floating-point number: 0.9 x 100 N is 90 N.
package exact

import (
	"errors"
	"fmt"
	"math"
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

// mul multiplies exactly. It works on the coefficients, because the contexts
// of apd also round, which costs several times the product.
func mul(a, b *apd.Decimal) (d apd.Decimal) {
	d.Coeff.Mul(&a.Coeff, &b.Coeff)
	d.Exponent = a.Exponent + b.Exponent
	d.Negative = a.Negative != b.Negative && d.Coeff.Sign() != 0
	return d
}

// add adds exactly.
func add(a, b *apd.Decimal) (d apd.Decimal) {
	if a.Exponent < b.Exponent {
		a, b = b, a
	}
	// Now b has the finer exponent: bring a to it.
	var left, right apd.BigInt
	scale(&left, &a.Coeff, a.Exponent-b.Exponent)
	if a.Negative {
		left.Neg(&left)
	}
	right.Set(&b.Coeff)
	if b.Negative {
		right.Neg(&right)
	}
	d.Coeff.Add(&left, &right)
	d.Negative = d.Coeff.Sign() < 0
	d.Coeff.Abs(&d.Coeff)
	d.Exponent = b.Exponent
	return d
}

// scale sets z to x times ten to the power n >= 0.
func scale(z, x *apd.BigInt, n int32) {
	z.Set(x)
	if n == 0 {
		return
	}
	var power apd.BigInt
	if int(n) < len(smallPowers) {
		power.SetInt64(smallPowers[n])
	} else {
		power.Exp(apd.NewBigInt(10), apd.NewBigInt(int64(n)), nil)
	}
	z.Mul(z, &power)
}

var smallPowers = func() (powers [19]int64) {
	powers[0] = 1
	for i := 1; i < len(powers); i++ {
		powers[i] = 10 * powers[i-1]
	}
	return powers
}()

// Add returns x + y.
func (x Number) Add(y Number) (z Number) {
	if x.isDecimal() && y.isDecimal() {
		z.num = add(&x.num, &y.num)
		return z
	}
	left, right := mul(&x.num, y.denominator()), mul(&y.num, x.denominator())
	z.num = add(&left, &right)
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
func (x Number) Neg() Number {
	x.num.Negative = !x.num.Negative && x.num.Coeff.Sign() != 0
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
	if x.isDecimal() {
		return float(&x.num)
	}
	return float(&x.num) / float(&x.den)
}

// float is exact to the last bit while coefficient and power are exact in
// binary, as they are for anything an instrument shows.
func float(d *apd.Decimal) float64 {
	exponent := d.Exponent
	if !d.Coeff.IsInt64() || exponent < -22 || exponent > 22 {
		f, _ := d.Float64()
		return f
	}
	f := float64(d.Coeff.Int64())
	if exponent < 0 {
		f /= math.Pow10(int(-exponent))
	} else {
		f *= math.Pow10(int(exponent))
	}
	if d.Negative {
		return -f
	}
	return f
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
