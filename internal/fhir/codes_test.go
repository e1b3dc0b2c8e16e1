package fhir

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestCheckDigits(t *testing.T) {
	loinc, snomed := 0, 0
	for name, code := range codeConstants(t) {
		switch {
		case strings.HasPrefix(name, "LOINC"):
			loinc++
			if !validLOINC(code) {
				t.Errorf("%s = %q fails the LOINC check digit", name, code)
			}
		case strings.HasPrefix(name, "SNOMED"):
			snomed++
			if !validSNOMED(code) {
				t.Errorf("%s = %q fails the SNOMED CT check digit", name, code)
			}
		}
	}
	if loinc == 0 || snomed == 0 {
		t.Fatalf("checked %d LOINC and %d SNOMED CT codes, want some of both", loinc, snomed)
	}
}

// The check itself must be able to fail.
func TestCheckDigitsOfKnownCodes(t *testing.T) {
	tests := []struct {
		name  string
		check func(string) bool
		code  string
		want  bool
		from  string
	}{
		{"LOINC body weight", validLOINC, "29463-7", true, "FHIR R4 vital signs profile"},
		{"LOINC body height", validLOINC, "8302-2", true, "FHIR R4 vital signs profile"},
		{"a grip strength number seen in public code", validLOINC, "83191-8", false, "its check digit should be 7"},
		{"another", validLOINC, "62951-8", false, "its check digit should be 9"},
		{"no check digit", validLOINC, "29463", false, "definition"},
		{"SNOMED CT right", validSNOMED, "24028007", true, "Global Patient Set"},
		{"two digits swapped", validSNOMED, "24020887", false, "Verhoeff finds transpositions"},
		{"one digit changed", validSNOMED, "24028008", false, "Verhoeff finds single errors"},
		{"not a number", validSNOMED, "shoulder", false, "definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := tt.check(tt.code); got != tt.want {
				t.Errorf("%q valid = %v, want %v (%s)", tt.code, got, tt.want, tt.from)
			}
		})
	}
}

func TestOurCodes(t *testing.T) {
	slug := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	seen := map[string]string{}
	for name, code := range codeConstants(t) {
		if !strings.HasPrefix(name, "Code") {
			continue
		}
		if !slug.MatchString(code) {
			t.Errorf("%s = %q is malformed", name, code)
		}
		if other := seen[code]; other != "" {
			t.Errorf("%s and %s are both %q", name, other, code)
		}
		seen[code] = name
	}
	if len(seen) == 0 {
		t.Fatal("found no code of ours")
	}
}

// codeConstants returns the constants of the files of codes that are plain
// strings.
func codeConstants(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob("codes*.go")
	if err != nil || len(files) == 0 {
		t.Fatalf("found no file of codes: %v", err)
	}
	constants := map[string]string{}
	for _, file := range files {
		if !strings.HasSuffix(file, "_test.go") {
			addConstants(t, constants, file)
		}
	}
	return constants
}

func addConstants(t *testing.T, constants map[string]string, file string) {
	t.Helper()
	parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(parsed, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok || len(spec.Names) != 1 || len(spec.Values) != 1 {
			return true
		}
		if literal, ok := spec.Values[0].(*ast.BasicLit); ok && literal.Kind == token.STRING {
			value, err := strconv.Unquote(literal.Value)
			if err != nil {
				t.Fatal(err)
			}
			constants[spec.Names[0].Name] = value
		}
		return true
	})
}

// validLOINC checks the last digit of a LOINC number.
//
// Source: LOINC Users' Guide, appendix on check digits (mod 10).
func validLOINC(code string) bool {
	number, check, ok := strings.Cut(code, "-")
	if !ok || number == "" || len(check) != 1 {
		return false
	}
	sum := 0
	for i := range len(number) {
		digit := int(number[len(number)-1-i] - '0')
		if digit < 0 || digit > 9 {
			return false
		}
		if i%2 == 0 {
			digit *= 2
		}
		sum += digit/10 + digit%10
	}
	return int(check[0]-'0') == (10-sum%10)%10
}

// validSNOMED checks the last digit of a SNOMED CT identifier.
//
// Source: SNOMED CT Release File Specifications, check-digit (Verhoeff's
// dihedral algorithm: multiplication in the dihedral group of order 10, and the
// permutation (1 5 8 9 4 2 7 0)(3 6) applied once more for each place).
func validSNOMED(id string) bool {
	if len(id) < 6 {
		return false
	}
	permutation := [10]int{1, 5, 7, 6, 2, 8, 3, 0, 9, 4}
	check := 0
	for i := range len(id) {
		digit := int(id[len(id)-1-i] - '0')
		if digit < 0 || digit > 9 {
			return false
		}
		for range i % 8 {
			digit = permutation[digit]
		}
		check = dihedral(check, digit)
	}
	return check == 0
}

// dihedral multiplies in the dihedral group of order 10: 0 to 4 are rotations,
// 5 to 9 reflections.
func dihedral(a, b int) int {
	switch {
	case a < 5 && b < 5:
		return (a + b) % 5
	case a < 5:
		return (a+b)%5 + 5
	case b < 5:
		return (a-b)%5 + 5
	}
	return (a - b + 5) % 5
}
