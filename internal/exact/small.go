package exact

import (
	"cmp"
	"math"
	"math/bits"
	"strconv"
)

// product multiplies. It reports false if the result overflows, or if ok is false:
// the products of a chain need only one check at its end.
func product(a, b int64, ok bool) (int64, bool) {
	if !ok || a == math.MinInt64 || b == math.MinInt64 {
		return 0, false
	}
	high, low := bits.Mul64(magnitude(a), magnitude(b))
	if high != 0 || low > math.MaxInt64 {
		return 0, false
	}
	if (a < 0) != (b < 0) {
		return -int64(low), true
	}
	return int64(low), true
}

func magnitude(a int64) uint64 {
	if a < 0 {
		return uint64(-a)
	}
	return uint64(a)
}

// scaled is a times ten to the power n >= 0.
func scaled(a int64, n int32) (int64, bool) {
	if n == 0 || a == 0 {
		return a, true
	}
	if int(n) >= len(powers) {
		return 0, false
	}
	return product(a, powers[n], true)
}

// powers are the powers of ten that fit.
var powers = func() (p [19]int64) {
	p[0] = 1
	for i := 1; i < len(p); i++ {
		p[i] = 10 * p[i-1]
	}
	return p
}()

// wide is an unsigned number of 128 bits.
type wide struct{ high, low uint64 }

func wideProduct(a, b uint64) (w wide) {
	w.high, w.low = bits.Mul64(a, b)
	return w
}

// times multiplies by ten to the power n >= 0, and reports false if that does
// not fit.
func (w wide) times(n int32) (wide, bool) {
	for ; n > 0; n -= int32(len(powers) - 1) {
		power := uint64(powers[min(int(n), len(powers)-1)])
		over, high := bits.Mul64(w.high, power)
		carried, low := bits.Mul64(w.low, power)
		high, carry := bits.Add64(high, carried, 0)
		if over != 0 || carry != 0 {
			return wide{}, false
		}
		w = wide{high, low}
	}
	return w, true
}

func (w wide) cmp(v wide) int {
	return cmp.Or(cmp.Compare(w.high, v.high), cmp.Compare(w.low, v.low))
}

// cmpSmall compares small numbers: by cross multiplication, unless places and
// denominators agree.
func cmpSmall(x, y Number) int {
	if sx, sy := x.Sign(), y.Sign(); sx != sy || sx == 0 {
		return cmp.Compare(sx, sy)
	}
	if x.exp == y.exp && x.denominator() == y.denominator() {
		return cmp.Compare(x.num, y.num)
	}
	left := wideProduct(magnitude(x.num), uint64(y.denominator()))
	right := wideProduct(magnitude(y.num), uint64(x.denominator()))
	return x.Sign() * cmpScaled(left, x.exp, right, y.exp)
}

// cmpScaled compares left x 10^leftExp with right x 10^rightExp, both above 0. A
// product of more than 128 bits is larger than one that fits.
func cmpScaled(left wide, leftExp int32, right wide, rightExp int32) int {
	if leftExp < rightExp {
		return -cmpScaled(right, rightExp, left, leftExp)
	}
	left, ok := left.times(leftExp - rightExp)
	if !ok {
		return 1
	}
	return left.cmp(right)
}

// roundSmall rounds a small number to a number of places, halves away from
// zero, and reports false if that does not fit.
func roundSmall(x Number, places int) (Number, bool) {
	num, den := wide{0, magnitude(x.num)}, x.denominator()
	var ok bool
	if shift := int32(places) + x.exp; shift >= 0 {
		num, ok = num.times(shift)
	} else if den, ok = scaled(den, -shift); !ok && shift < -int32(len(powers)) {
		return Number{exp: int32(-places)}, true // below half of the last place
	}
	if !ok || den > math.MaxInt64/2 || num.high >= uint64(den) {
		return Number{}, false
	}
	quotient, rest := bits.Div64(num.high, num.low, uint64(den))
	if 2*rest >= uint64(den) {
		quotient++
	}
	if quotient > math.MaxInt64 {
		return Number{}, false
	}
	rounded := Number{num: int64(quotient), exp: int32(-places)}
	if x.num < 0 {
		rounded.num = -rounded.num
	}
	return rounded, true
}

// appendDecimal appends a small decimal, whose denominator is 1 and whose exponent
// is -places.
func (x Number) appendDecimal(text []byte, places int) []byte {
	var space [64]byte
	digits := strconv.AppendUint(space[:0], magnitude(x.num), 10)
	if x.num < 0 {
		text = append(text, '-')
	}
	whole := len(digits) - places
	if whole <= 0 {
		text = append(text, '0')
	} else {
		text = append(text, digits[:whole]...)
	}
	if places > 0 {
		text = append(text, '.')
		for range -min(whole, 0) {
			text = append(text, '0')
		}
		text = append(text, digits[max(whole, 0):]...)
	}
	return text
}

// decimal is what scan finds: num x 10^exp if it fits, and how many digits.
type decimal struct {
	num    int64
	exp    int32
	digits int
	fits   bool
}

// scan reads [+-]digits[.digits][e[+-]digits].
func scan(s string) (d decimal, ok bool) {
	d.fits = true
	negative := false
	if s != "" && (s[0] == '-' || s[0] == '+') {
		negative, s = s[0] == '-', s[1:]
	}
	whole := d.take(s)
	s = s[whole:]
	if s != "" && s[0] == '.' {
		fraction := d.take(s[1:])
		if fraction == 0 {
			return d, false
		}
		d.exp -= int32(min(fraction, 1000))
		s = s[1+fraction:]
	}
	if whole == 0 {
		return d, false
	}
	if negative {
		d.num = -d.num
	}
	if s == "" {
		return d, true
	}
	return d, d.takeExponent(s)
}

// take reads digits into num, not counting leading zeros.
func (d *decimal) take(s string) (n int) {
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		digit := int64(s[n] - '0')
		if d.digits > 0 || digit > 0 {
			d.digits++
		}
		if d.num > (math.MaxInt64-digit)/10 {
			d.fits = false
		} else {
			d.num = 10*d.num + digit
		}
		n++
	}
	return n
}

func (d *decimal) takeExponent(s string) bool {
	if s[0] != 'e' && s[0] != 'E' {
		return false
	}
	s = s[1:]
	sign := int32(1)
	if s != "" && (s[0] == '-' || s[0] == '+') {
		if s[0] == '-' {
			sign = -1
		}
		s = s[1:]
	}
	if s == "" || len(s) > 4 {
		return false
	}
	var exponent int32
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return false
		}
		exponent = 10*exponent + int32(c-'0')
	}
	d.exp += sign * exponent
	return true
}
