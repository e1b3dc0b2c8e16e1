package exact

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	tests := []struct{ name, in, want, source string }{
		{"digits after the point stay", "12.40", "12.40", "definition"},
		{"exponent", "1.2e1", "12", "definition"},
		{"negative", "-0.5", "-0.5", "definition"},
		{"forty digits", strings.Repeat("9", 40), strings.Repeat("9", 40), "MaxDigits"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Parse(tt.in)
			if err != nil || got.String() != tt.want {
				t.Errorf("Parse(%q) = %v, %v, want %s (%s)", tt.in, got, err, tt.want, tt.source)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	for _, in := range []string{"", "NaN", "Infinity", "1e999999", "1e41", "1e-41", strings.Repeat("9", 41), "1,5", "0x10", "1.5 N", ".5", "5.", "1e", "--1", "1e+", "+"} {
		if got, err := Parse(in); !errors.Is(err, ErrNotNumber) {
			t.Errorf("Parse(%q) = %v, %v, want ErrNotNumber", in, got, err)
		}
	}
}

func TestPlacesForNeverCross(t *testing.T) {
	tests := []struct {
		name             string
		value, threshold string
		want             string
	}{
		{"far from the threshold", "82.249", "90", "82.2"},
		{"just below stays below", "89.96", "90", "89.96"},
		{"a hair below", "89.99996", "90", "89.99996"},
		{"on the threshold", "90", "90", "90.0"},
		{"just above stays above", "90.04", "90", "90.04"},
		{"above by a tenth", "90.1", "90", "90.1"},
		{"rounding would gain a digit", "99.96", "100", "99.96"},
		{"rounding would gain a digit and cross", "9.96", "9.97", "9.96"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			value := MustParse(tt.value)
			if got := value.Text(value.PlacesFor(MustParse(tt.threshold), 1)); got != tt.want {
				t.Errorf("%s beside %s = %s, want %s (by hand)", tt.value, tt.threshold, got, tt.want)
			}
		})
	}
}

// The least int64 has no opposite among them, so no small number may hold it.
func TestLeastInt64(t *testing.T) {
	const least = "-9223372036854775808"
	half := Int(math.MinInt64 / 2)
	for _, tt := range []struct {
		name string
		got  Number
		want string
	}{
		{"given", Int(math.MinInt64), least},
		{"parsed", MustParse(least), least},
		{"by adding", half.Add(half), least},
		{"by subtracting", half.Sub(half.Neg()), least},
		{"by multiplying", half.Mul(Int(2)), least},
		{"by dividing", must(half.Quo(MustParse("0.5"))), least},
		{"negated", Int(math.MinInt64).Neg(), least[1:]},
		{"a sum negated", half.Add(half).Neg(), least[1:]},
		{"the absolute value of a sum", half.Add(half).Abs(), least[1:]},
		{"taken from 0", Int(0).Sub(half.Add(half)), least[1:]},
		{"divided by -1", must(half.Add(half).Quo(Int(-1))), least[1:]},
		{"-1 divided by it, and back", must(Int(-1).Quo(must(Int(-1).Quo(half.Add(half))))), least},
		{"negated twice", half.Add(half).Neg().Neg(), least},
	} {
		if got := tt.got.String(); got != tt.want {
			t.Errorf("%s: %s, want %s (-2^63 by definition)", tt.name, got, tt.want)
		}
		if want := 1 - 2*strings.Count(tt.want, "-"); tt.got.Sign() != want {
			t.Errorf("%s: sign %d, want %d", tt.name, tt.got.Sign(), want)
		}
	}
}

// nearTheEdge draws a number whose parts are near the ends of an int64, or small.
func nearTheEdge(t *rapid.T, label string) (Number, *big.Rat) {
	part := func(label string) int64 {
		end := rapid.SampledFrom([]int64{math.MinInt64, math.MinInt64 / 2, -1, 0, 1, math.MaxInt64 / 2, math.MaxInt64}).Draw(t, label)
		return end + rapid.Int64Range(-2, 2).Draw(t, label+" beside") // may wrap around, to the other end
	}
	n, d := part(label), part(label+" denominator")
	if d == 0 {
		d = 1
	}
	q, _ := Int(n).Quo(Int(d))
	return q, new(big.Rat).SetFrac(big.NewInt(n), big.NewInt(d))
}

// The standard library's big.Rat is the reference.
func TestArithmeticAtTheEdgeAgreesWithBigRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, ra := nearTheEdge(t, "a")
		b, rb := nearTheEdge(t, "b")
		check := func(op string, got Number, want *big.Rat) {
			if got.rat().Cmp(want) != 0 || got.Sign() != want.Sign() || got.Cmp(fromRat(want)) != 0 || got.num == math.MinInt64 {
				t.Fatalf("%s = %v, want %v", op, got.rat(), want)
			}
		}
		check("a", a, ra)
		check("-a", a.Neg(), new(big.Rat).Neg(ra))
		check("|a|", a.Abs(), new(big.Rat).Abs(ra))
		check("a + b", a.Add(b), new(big.Rat).Add(ra, rb))
		check("a - b", a.Sub(b), new(big.Rat).Sub(ra, rb))
		check("a b", a.Mul(b), new(big.Rat).Mul(ra, rb))
		if q, ok := a.Quo(b); ok {
			check("a/b", q, new(big.Rat).Quo(ra, rb))
		}
		if got, want := a.Cmp(b), ra.Cmp(rb); got != want {
			t.Fatalf("Cmp(%v, %v) = %d, want %d", ra, rb, got, want)
		}
	})
}

func TestQuoByZero(t *testing.T) {
	if _, ok := Int(1).Quo(Number{}); ok {
		t.Error("1/0 has a value, want none")
	}
}

// number draws a decimal, mostly within instrument range and its big.Rat, from the
// same text.
func number(t *rapid.T, label string) (Number, *big.Rat) {
	reach := rapid.SampledFrom([]int64{1e3, 1e6, 1e9, 1e18}).Draw(t, label+" reach")
	text := fmt.Sprintf("%de%d", rapid.Int64Range(-reach, reach).Draw(t, label), rapid.IntRange(-MaxDigits, 18).Draw(t, label+" exponent"))
	r, _ := new(big.Rat).SetString(text)
	return MustParse(text), r
}

// The standard library's big.Rat is the reference.
func TestArithmeticAgreesWithBigRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, ra := number(t, "a")
		b, rb := number(t, "b")
		c, rc := number(t, "c")
		if c.Sign() == 0 {
			return
		}
		q, ok := a.Quo(c)
		rq := new(big.Rat).Quo(ra, rc)
		if !ok {
			t.Fatalf("%v / %v has no value", a, c)
		}
		check := func(op string, got Number, want *big.Rat) {
			if got.rat().Cmp(want) != 0 {
				t.Fatalf("%s = %v, want %v", op, got.rat(), want)
			}
		}
		check("a/c", q, rq)
		check("a/c + b", q.Add(b), new(big.Rat).Add(rq, rb))
		check("b - a/c", b.Sub(q), new(big.Rat).Sub(rb, rq))
		check("a/c * b", q.Mul(b), new(big.Rat).Mul(rq, rb))
		check("|a/c|", q.Abs(), new(big.Rat).Abs(rq))
		check("a/c + a/c", q.Add(q), new(big.Rat).Add(rq, rq))
		check("(a/c)(b/c)", q.Mul(must(b.Quo(c))), new(big.Rat).Mul(rq, new(big.Rat).Quo(rb, rc)))
		if got, _ := rq.Float64(); math.Abs(q.Float64()-got) > 1e-12*math.Abs(got) {
			t.Fatalf("Float64 = %v, want %v", q.Float64(), got)
		}
		if got, want := q.Cmp(b), rq.Cmp(rb); got != want {
			t.Fatalf("Cmp = %d, want %d", got, want)
		}
		places := rapid.IntRange(0, 12).Draw(t, "places")
		if got, want := q.Text(places), positiveZero(rq.FloatString(places)); got != want {
			t.Fatalf("Text = %s, want %s", got, want)
		}
		rounded, _ := new(big.Rat).SetString(rq.FloatString(places))
		check("a/c rounded", q.Round(places), rounded)
		if got, want := a.Text(places), positiveZero(ra.FloatString(places)); got != want {
			t.Fatalf("Text = %s, want %s", got, want)
		}
	})
}

func must(n Number, ok bool) Number {
	if !ok {
		panic("no value")
	}
	return n
}

func TestOperandsStay(t *testing.T) {
	a, b := MustParse("123456789012345678901234567890"), MustParse("2.5")
	_ = a.Add(b)
	_ = a.Mul(b)
	_, _ = a.Quo(b)
	_ = a.Neg()
	if a.String() != "123456789012345678901234567890" || b.String() != "2.5" {
		t.Errorf("operands changed: %v, %v", a, b)
	}
}

func ExampleNumber_Quo() {
	involved, comparison := MustParse("89.9"), MustParse("100.0")
	index, _ := involved.Mul(Int(100)).Quo(comparison)
	fmt.Println(index.Text(1), index.Cmp(Int(90)) >= 0)
	// Output: 89.9 false
}

func BenchmarkMeanOfThree(b *testing.B) {
	x, y, z := MustParse("98.1"), MustParse("101.4"), MustParse("99.72")
	b.ReportAllocs()
	for b.Loop() {
		_, _ = x.Add(y).Add(z).Quo(Int(3))
	}
}

func BenchmarkPlacesFor(b *testing.B) {
	threshold := Int(90)
	index, _ := MustParse("8823.4").Quo(MustParse("98.1"))
	b.ReportAllocs()
	for b.Loop() {
		_ = index.PlacesFor(threshold, 1)
	}
}
