package reliability

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

func TestRead(t *testing.T) {
	tests := []struct{ name, text string }{
		{"plain", "first,second\n6.2,12.4\n9.8,20.8\n"},
		{"with names", "subject,first,second\nA,6.2,12.4\nB,9.8,20.8\n"},
		{"decimal commas, as published tables print them", "subject;first;second\nA;6,2;12,4\nB;9,8;20,8\n"},
		{"byte order mark and carriage returns", "\ufefffirst,second\r\n6.2,12.4\r\n9.8,20.8\r\n"},
	}
	want := [][]float64{{6.2, 12.4}, {9.8, 20.8}} // PMC7394793 table 1
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Read(strings.NewReader(tt.text))
			if err != nil || !slices.EqualFunc(got, want, slices.Equal) {
				t.Errorf("Read = %v, %v, want %v", got, err, want)
			}
		})
	}
}

func TestReadNamesEveryBadCell(t *testing.T) {
	_, err := Read(strings.NewReader("first,second\n6.2,x\n-1,12.4\n7,8\nNaN,3\n"))
	for _, want := range []string{"row 2, column 2", "row 3, column 1", "row 5, column 1"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("err = %v, want it to name %s", err, want)
		}
	}
	for _, text := range []string{"", "first,second\n", "a,b\n1,2,3\n"} {
		if rows, err := Read(strings.NewReader(text)); err == nil {
			t.Errorf("Read(%q) = %v, want an error", text, rows)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("first,second\n6.2,12.4\n")
	f.Add("subject;first;second\nA;6,2;12,4\n")
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := Read(strings.NewReader(text))
		if err != nil {
			return
		}
		for _, row := range rows {
			for _, score := range row {
				if !(score > 0) {
					t.Errorf("accepted %v", score)
				}
			}
		}
		_, err = Analyse(rows, 95)
		if err != nil && !errors.Is(err, ErrTooFew) && !errors.Is(err, ErrRagged) && !errors.Is(err, ErrNoSpread) {
			t.Errorf("Analyse: %v", err)
		}
	})
}
