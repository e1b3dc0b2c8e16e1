package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// standardLibrary is what a CycloneDX document calls Go's own library.
const standardLibrary = "std"

// A module is others' work that is linked into the binary.
type module struct {
	Path, Version, Dir string

	packages []string
	files    []file
}

// licences are the SPDX ids of all its files.
func (m module) licences() []string {
	var ids []string
	for _, f := range m.files {
		ids = append(ids, f.ids...)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// A program is one of this repository.
type program struct {
	module string // folder
	name   string // in the folder cmd
}

// linkedModules lists the modules of the packages that the binary of a program links, by
// path, with their licences; Go's own library first.
func (of program) linkedModules() ([]module, error) {
	command := exec.Command("go", "list", "-tags", "grpcnotrace", "-deps", "-json=ImportPath,Dir,EmbedFiles,Module", "./cmd/"+of.name)
	command.Dir = of.module
	// The platform of the image, so that the list is the same everywhere.
	command.Env = append(os.Environ(), "GOOS=linux", "GOARCH=amd64", "CGO_ENABLED=0")
	command.Stderr = os.Stderr
	list, err := command.Output()
	if err != nil {
		return nil, err
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	std := &module{Path: standardLibrary, Dir: strings.TrimSpace(string(root))}
	if err := std.add(std.Dir); err != nil {
		return nil, err
	}
	byPath := map[string]*module{std.Path: std}
	for decoder := json.NewDecoder(strings.NewReader(string(list))); ; {
		var p struct {
			ImportPath, Dir string
			EmbedFiles      []string
			Module          *struct {
				Path, Version, Dir string
				Main               bool
				Replace            *struct{ Version string }
			}
		}
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		if p.Module == nil || p.Module.Main || p.Module.Replace != nil && p.Module.Replace.Version == "" {
			continue // Go's own, or of this repository
		}
		m := byPath[p.Module.Path]
		if m == nil {
			m = &module{Path: p.Module.Path, Version: p.Module.Version, Dir: p.Module.Dir}
			byPath[m.Path] = m
		}
		m.packages = append(m.packages, p.ImportPath)
		dirs := []string{p.Dir, filepath.Join(m.Dir, "THIRD_PARTY_LICENSES")}
		for _, embedded := range p.EmbedFiles {
			dirs = append(dirs, filepath.Dir(filepath.Join(p.Dir, embedded)))
		}
		if err := m.add(dirs...); err != nil {
			return nil, err
		}
	}
	return finish(byPath)
}

// finish checks and sorts the modules and their files.
func finish(byPath map[string]*module) ([]module, error) {
	var modules []module
	var problems []error
	for _, m := range byPath {
		m.files = slices.DeleteFunc(m.files, func(f file) bool { return m.ofUnlinked(f.name) })
		slices.SortFunc(m.files, func(a, b file) int { return strings.Compare(a.name, b.name) })
		problems = append(problems, m.check()...)
		modules = append(modules, *m)
	}
	slices.SortFunc(modules, func(a, b module) int {
		if (a.Path == standardLibrary) != (b.Path == standardLibrary) {
			return map[bool]int{true: -1, false: 1}[a.Path == standardLibrary]
		}
		return strings.Compare(a.Path, b.Path)
	})
	return modules, errors.Join(problems...)
}

// add adds the licence files of folders and of those above them, up to the
// root of the module. A folder that does not exist has none.
func (m *module) add(dirs ...string) error {
	for _, dir := range dirs {
		for ; strings.HasPrefix(dir, m.Dir); dir = filepath.Dir(dir) {
			entries, err := os.ReadDir(dir)
			if err != nil && !errors.Is(err, os.ErrNotExist) {
				return err
			}
			for _, entry := range entries {
				if entry.IsDir() || !isLicenceFile(entry.Name()) {
					continue
				}
				if err := m.addFile(filepath.Join(dir, entry.Name())); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (m *module) addFile(path string) error {
	name, err := filepath.Rel(m.Dir, path)
	if err != nil {
		return err
	}
	name = filepath.ToSlash(name)
	if slices.ContainsFunc(m.files, func(f file) bool { return f.name == name }) {
		return nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	m.files = append(m.files, newFile(name, text))
	return nil
}

var licenceFile = regexp.MustCompile(`(?i)^(.+-)?(licen[cs]e|copying|notice)([-.].*)?$`)

// isLicenceFile tells whether a file of this name states terms of use.
func isLicenceFile(name string) bool {
	return licenceFile.MatchString(name) && filepath.Ext(name) != ".go"
}

// check reports a module without a licence, and every licence of it that is
// not known or not allowed.
func (m module) check() []error {
	var problems []error
	if len(m.licences()) == 0 {
		problems = append(problems, fmt.Errorf("%s has no licence", m.Path))
	}
	for _, f := range m.files {
		if err := f.check(); err != nil {
			problems = append(problems, fmt.Errorf("%s: %w", m.Path, err))
		}
	}
	return problems
}

// ofUnlinked tells whether a file is only about a package that is not linked.
func (m module) ofUnlinked(name string) bool {
	of, ok := onlyAbout[m.Path+"/"+name]
	return ok && !slices.Contains(m.packages, of)
}
