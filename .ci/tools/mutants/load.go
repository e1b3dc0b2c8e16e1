package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// helpers are what faults call.
//
//go:embed helpers.txt
var helpers string

// pkg is the package that faults are planted in.
type pkg struct {
	name, folder string
	identifier   string
	texts        map[string][]byte // of the files, by path
	faults       []fault
}

// fault is one, with the file that it is in.
type fault struct {
	found
	file, name string
}

// listed is what go list says of a package.
type listed struct {
	ImportPath, Dir, Export, Name string
	GoFiles                       []string
}

func list(ctx context.Context, name string) (all []listed, err error) {
	text, err := exec.CommandContext(ctx, "go", "list", "-json=ImportPath,Dir,Export,Name,GoFiles", "-deps", "-export", name).Output()
	if err != nil {
		return nil, fmt.Errorf("go list %s: %w", name, err)
	}
	for d := json.NewDecoder(bytes.NewReader(text)); ; {
		var one listed
		if err := d.Decode(&one); errors.Is(err, io.EOF) {
			return all, nil
		} else if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
}

// load reads a package and finds the faults that can be planted in its files.
func load(ctx context.Context, name string, files *regexp.Regexp) (*pkg, error) {
	all, err := list(ctx, name)
	if err != nil {
		return nil, err
	}
	of := all[len(all)-1] // what it needs comes before
	p := &pkg{name: name, folder: of.Dir, identifier: of.Name, texts: map[string][]byte{}}
	set := token.NewFileSet()
	var parsed []*ast.File
	for _, file := range of.GoFiles {
		path := filepath.Join(of.Dir, file)
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		tree, err := parser.ParseFile(set, path, text, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		p.texts[path], parsed = text, append(parsed, tree)
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	checked := types.Config{Importer: importer.ForCompiler(set, "gc", func(path string) (io.ReadCloser, error) {
		at := slices.IndexFunc(all, func(l listed) bool { return l.ImportPath == path })
		return os.Open(all[max(at, 0)].Export)
	})}
	if _, err := checked.Check(of.ImportPath, set, parsed, info); err != nil {
		return nil, err
	}
	for _, tree := range parsed {
		path := set.Position(tree.Pos()).Filename
		if files.MatchString(filepath.Base(path)) {
			f := &finder{files: set, info: info}
			ast.Walk(f, tree)
			for _, x := range f.all {
				p.faults = append(p.faults, fault{x, path, filepath.Base(path)})
			}
		}
	}
	return p, nil
}

// sample leaves only one fault in so many, evenly over each file and the same each time.
func (p *pkg) sample(every int) {
	place := map[string]int{} // in the file
	p.faults = slices.DeleteFunc(p.faults, func(f fault) bool {
		place[f.file]++
		return place[f.file]%every != 0
	})
}

func (p *pkg) line(f fault) string {
	return strings.TrimSpace(strings.Split(string(p.texts[f.file]), "\n")[f.pos.Line-1])
}

// build compiles the tests of a package with the faults in place. A fault that does not compile is taken out.
func (p *pkg) build(ctx context.Context, scratch, tested string) (*program, error) {
	all, err := list(ctx, tested)
	if err != nil {
		return nil, err
	}
	built := &program{name: tested, folder: all[len(all)-1].Dir, file: filepath.Join(scratch, strings.ReplaceAll(tested, "/", "_")+".test")}
	for {
		overlay, err := p.overlay(scratch)
		if err != nil {
			return nil, err
		}
		text, err := exec.CommandContext(ctx, "go", "test", "-c", "-gcflags=-e", "-vet=off", "-overlay", overlay, "-o", built.file, tested).CombinedOutput()
		if err == nil {
			return built, nil
		}
		if !p.drop(text) {
			return nil, fmt.Errorf("building the tests of %s: %w\n%s", tested, err, text)
		}
	}
}

// complaint is a line of the compiler.
var complaint = regexp.MustCompile(`(?m)([^/\s]+\.go):(\d+):\d+: `)

// drop takes out the faults of the lines that the compiler complains of, and reports whether there are any.
func (p *pkg) drop(complaints []byte) bool {
	before := len(p.faults)
	for _, m := range complaint.FindAllSubmatch(complaints, -1) {
		line, _ := strconv.Atoi(string(m[2]))
		p.faults = slices.DeleteFunc(p.faults, func(f fault) bool { return f.name == string(m[1]) && f.pos.Line == line })
	}
	return len(p.faults) < before
}

// overlay writes the files with the faults in place, and what tells the compiler to take them.
func (p *pkg) overlay(scratch string) (string, error) {
	edits := map[string][]edit{}
	for i, f := range p.faults {
		edits[f.file] = append(edits[f.file], f.edits(i+1)...)
	}
	replaced := map[string]string{}
	write := func(path string, text []byte) error {
		replaced[path] = filepath.Join(scratch, filepath.Base(path))
		return os.WriteFile(replaced[path], text, 0o600)
	}
	for path, of := range edits {
		if err := write(path, planted(p.texts[path], of)); err != nil {
			return "", err
		}
	}
	if err := write(filepath.Join(p.folder, "mutants_helpers.go"), []byte(strings.Replace(helpers, "PACKAGE", p.identifier, 1))); err != nil {
		return "", err
	}
	text, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		return "", err
	}
	overlay := filepath.Join(scratch, "overlay.json")
	return overlay, os.WriteFile(overlay, text, 0o600)
}
