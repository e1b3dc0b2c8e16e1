package wording

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
)

func number(s string) exact.Number { return exact.MustParse(s) }

func third(s string) exact.Number {
	n, _ := number(s).Quo(exact.Int(3))
	return n
}

func atLeast(value, unit string) protocol.Threshold {
	return protocol.Threshold{Comparison: protocol.AtLeast, Value: number(value), Unit: unit}
}

func TestIndexNeverCrossesItsThreshold(t *testing.T) {
	good, even := atLeast("75", "%"), atLeast("90", "%")
	for _, tt := range []struct {
		name   string
		index  exact.Number
		want   string
		source string
	}{
		{"plain", number("82.5"), "82.5", "as it is"},
		{"rounds away from the threshold", number("89.94"), "89.9", "one decimal place"},
		{"would round onto the threshold", number("89.96"), "89.96", "design: 89.96 is not shown as 90.0 beside not met"},
		{"on the threshold", number("90"), "90.0", "at least 90 is met at 90"},
		{"just above it", number("90.01"), "90.01", "90.0 would hide on which side it lies, as 89.99 would"},
		{"far below, closely", number("89.9999999"), "89.9999999", "as many places as it takes"},
		{"beside the lower threshold", number("74.97"), "74.97", "both thresholds count"},
		{"recurring", third("200"), "66.7", "200 / 3 = 66.66..."},
		{"over one hundred", number("1234.56"), "1234.6", "not clamped"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Index(tt.index, good, even); got != tt.want {
				t.Errorf("got %s, want %s (%s)", got, tt.want, tt.source)
			}
		})
	}
}

func TestQuantity(t *testing.T) {
	for _, tt := range []struct {
		name   string
		value  exact.Number
		unit   string
		limits []exact.Number
		want   string
	}{
		{"force", number("88"), "N", nil, "88.0 N"},
		{"torque", number("24.04"), "N.m", nil, "24.0 N m"},
		{"whole degrees", number("135.0"), "deg", nil, "135 degrees"},
		{"part of a degree", number("134.9"), "deg", nil, "134.9 degrees"},
		{"degrees close to the gate", number("134.96"), "deg", []exact.Number{number("135")}, "134.96 degrees"},
		{"mean of three degrees", third("500"), "deg", nil, "166.7 degrees"},
		{"pain", number("4"), "{score}", nil, "4/10"},
		{"pain between", number("4.5"), "{score}", nil, "4.5/10"},
		{"force by mass", number("1.2345"), "N/kg", nil, "1.23 N/kg"},
		{"weeks close to the gate", third("35.99"), "wk", []exact.Number{number("12")}, "11.997 weeks"},
		{"share", number("99.96"), "%", []exact.Number{number("100")}, "99.96 %"},
		{"unit without a text", number("2"), "mm", nil, "2.0 mm"},
		{"points of a score", number("62"), "{points}", nil, "62 points"},
		{"unit that is only an annotation", number("2"), "{turns}", nil, "2.0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Quantity(tt.value, tt.unit, tt.limits...); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestThreshold(t *testing.T) {
	for _, tt := range []struct {
		comparison protocol.Comparison
		value      string
		unit       string
		want       string
	}{
		{protocol.AtLeast, "75", "%", "at least 75 %"},
		{protocol.AtLeast, "77.50", "%", "at least 77.5 %"},
		{protocol.AtMost, "5", "{score}", "at most 5/10"},
		{protocol.MoreThan, "12", "wk", "more than 12 weeks"},
		{protocol.LessThan, "0.9", "N/kg", "less than 0.9 N/kg"},
		{protocol.AtLeast, "2", "1", "at least 2"},
	} {
		got := For("en").Threshold(protocol.Threshold{Comparison: tt.comparison, Value: number(tt.value), Unit: tt.unit})
		if got != tt.want {
			t.Errorf("got %q, want %q", got, tt.want)
		}
	}
}

func TestMeasuredAndNeeded(t *testing.T) {
	for _, tt := range []struct {
		name             string
		measured, needed exact.Number
		wantM, wantN     string
	}{
		{"far apart", number("88"), number("96"), "88.0", "96.0"},
		{"what is needed is rounded up", number("60"), number("72.75"), "60.0", "72.8"},
		{"needed rounds down but is not reached", number("95.93"), number("95.94"), "95.9", "96.0"},
		{"reached, but not what is printed at first", number("95.943"), number("95.942"), "95.943", "95.942"},
		{"missed by little", number("95.97"), number("95.98"), "95.97", "95.98"},
		{"equal", number("95.94"), number("95.94"), "95.9", "95.9"},
		{"equal and recurring", third("100"), third("100"), "33.3", "33.3"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			m, n := MeasuredAndNeeded(tt.measured, tt.needed, 1, 1)
			if m != tt.wantM || n != tt.wantN {
				t.Errorf("measured %s, needed %s; want %s, %s", m, n, tt.wantM, tt.wantN)
			}
		})
	}
}

// Whatever the numbers, the printed ones compare as they do.
func TestPrintedNumbersCompareAsTheyDo(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	draw := func() exact.Number {
		n := exact.Int(random.Int64N(3000) + 1)
		q, _ := n.Quo(exact.Int(random.Int64N(40) + 1))
		return q
	}
	for range 3000 {
		a, b := draw(), draw()
		text := roundClearOf(a, 1, b)
		if a.Cmp(b) != 0 && number(text).Cmp(b) != a.Cmp(b) {
			t.Fatalf("%s beside %s prints as %s", a, b, text)
		}
		m, n := MeasuredAndNeeded(a, b, 1, 1)
		if (number(m).Cmp(number(n)) >= 0) != (a.Cmp(b) >= 0) {
			t.Fatalf("measured %s, needed %s print as %s and %s", a, b, m, n)
		}
		limit := 90.0
		f, err := strconv.ParseFloat(estimate(a.Float64(), 1, limit), 64)
		if err != nil || (f < limit) != (a.Float64() < limit) && math.Abs(a.Float64()-limit) > 1e-6 {
			t.Fatalf("estimate %s prints as %v", a, f)
		}
	}
}

func TestDifferenceClearOf(t *testing.T) {
	for _, tt := range []struct {
		name             string
		difference       string
		detectable       float64
		want, wantBeside string
	}{
		{"within error", "8", 23.2, "+8.0", "23.2"},
		{"beyond error", "-30", 23.2, "-30.0", "23.2"},
		{"the same number at one place", "12.32", 12.34, "+12.32", "12.34"},
		{"on the limit", "10", 10, "+10.0", "10.0"},
		{"nothing", "0", 10, "0.0", "10.0"},
		{"a little less", "-0.04", 10, "0.0", "10.0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, limit := differenceClearOf(number(tt.difference), tt.detectable, 1)
			if got != tt.want || limit != tt.wantBeside {
				t.Errorf("got %s beside %s, want %s beside %s", got, limit, tt.want, tt.wantBeside)
			}
		})
	}
}

func TestNumbersInAnotherLanguage(t *testing.T) {
	comma := english
	comma.decimal = ","
	german := Catalogue{translation: &comma}
	if got := german.Quantity(number("88.04"), "N"); got != "88,0 N" {
		t.Errorf("got %q", got)
	}
	if got := german.Index(number("89.96"), atLeast("90", "%")); got != "89,96" {
		t.Errorf("got %q", got)
	}
}

func TestDateIsTheDayWhereItWasMeasured(t *testing.T) {
	evening := time.Date(2026, 3, 2, 23, 30, 0, 0, time.FixedZone("", -7*3600))
	if got := For("en").Date(evening); got != "2026-03-02" {
		t.Errorf("got %s", got)
	}
}
