package report

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

// ours is what a string of this package may hold beside spaces and signs: no
// word for the reader stands here, because it could not be translated.
var ours = regexp.MustCompile(`</?[a-z0-9]+( [a-z:]+="[^"]*"?)*/?>?|^" xml:lang="$|&(amp|lt|gt|#\d+);`)

var word = regexp.MustCompile(`[A-Za-z]{2,}`)

func TestNoWordsStandOutsideTheCatalogue(t *testing.T) {
	var files []string
	for _, pattern := range [...]string{"*.go", "chart/*.go", "typeset/*.go"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("%s: %d files, %v", pattern, len(found), err)
		}
		files = append(files, found...)
	}
	checked := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(parsed, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.CallExpr:
				if isElement(n) {
					return false // the first argument is a tag
				}
			case *ast.BasicLit:
				if n.Kind == token.STRING {
					checked++
					checkLiteral(t, file, n.Value)
				}
			}
			return true
		})
	}
	if checked < 20 {
		t.Errorf("only %d strings were found", checked)
	}
}

func isElement(call *ast.CallExpr) bool {
	selector, ok := call.Fun.(*ast.SelectorExpr)
	return ok && selector.Sel.Name == "element"
}

func checkLiteral(t *testing.T, file, literal string) {
	t.Helper()
	text, err := strconv.Unquote(literal)
	if err != nil {
		t.Fatal(err)
	}
	if found := word.FindString(ours.ReplaceAllString(text, "")); found != "" {
		t.Errorf("%s: the word %q in %s belongs into the catalogue", file, found, literal)
	}
}
