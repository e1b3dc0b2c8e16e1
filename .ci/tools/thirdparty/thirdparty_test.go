package main

import (
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/CycloneDX/cyclonedx-go"
)

const isc = `Permission to use, copy, modify, and/or distribute this software for any
purpose with or without fee is hereby granted, provided that the above
copyright notice and this permission notice appear in all copies.

THE SOFTWARE IS PROVIDED "AS IS" AND THE AUTHOR DISCLAIMS ALL WARRANTIES WITH
REGARD TO THIS SOFTWARE INCLUDING ALL IMPLIED WARRANTIES OF MERCHANTABILITY AND
FITNESS. IN NO EVENT SHALL THE AUTHOR BE LIABLE FOR ANY SPECIAL, DIRECT,
INDIRECT, OR CONSEQUENTIAL DAMAGES OR ANY DAMAGES WHATSOEVER RESULTING FROM LOSS
OF USE, DATA OR PROFITS, WHETHER IN AN ACTION OF CONTRACT, NEGLIGENCE OR OTHER
TORTIOUS ACTION, ARISING OUT OF OR IN CONNECTION WITH THE USE OR PERFORMANCE OF
THIS SOFTWARE.
`

const gpl = `This program is free software: you can redistribute it and/or modify
it under the terms of the GNU General Public License as published by
the Free Software Foundation, either version 3 of the License, or
(at your option) any later version.
`

func TestFiles(t *testing.T) {
	cases := []struct {
		name, text string
		want       string // part of the refusal; none if it is accepted
	}{
		{"LICENSE", isc, ""},
		{"NOTICE.txt", "This product has code of others.", ""},
		{"LICENSE", gpl, "GPL-3.0-or-later is not on the list"},
		{"LICENSE", "You may use this on Sundays.", "no known licence"},
		{"LICENSE", isc + "Not on Sundays: " + strings.Repeat("whoever uses it on Sundays owes the author a cake. ", 5), "no known licence"},
	}
	for _, c := range cases {
		err := newFile(c.name, []byte(c.text)).check()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %.40q: %v, want %q", c.name, c.text, err, c.want)
		}
	}
}

func TestLicenceFileNames(t *testing.T) {
	// The names occur in the linked modules, or in their neighbours.
	for name, want := range map[string]bool{
		"LICENSE": true, "LICENSE.txt": true, "LICENCE.md": true, "LICENSE-SIL": true, "LICENSE.libyaml": true,
		"Cephes-LICENSE": true, "COPYING": true, "NOTICE": true, "NOTICE.txt": true,
		"license.go": false, "README.md": false, "check_license.sh": false, "noticeboard.txt": false,
	} {
		if got := isLicenceFile(name); got != want {
			t.Errorf("isLicenceFile(%q) = %v, want %v", name, got, want)
		}
	}
}

func TestModuleWithoutLicence(t *testing.T) {
	m := module{Path: "example.test/m", files: []file{newFile("NOTICE", []byte("of others"))}}
	if problems := m.check(); len(problems) != 1 {
		t.Errorf("%v, want that it has no licence", problems)
	}
}

// The test is a binary too: its own modules must be listed, no more, no less,
// each with a licence.
func TestModulesOfBinary(t *testing.T) {
	info, ok := debug.ReadBuildInfo()
	if !ok || len(info.Deps) == 0 {
		t.Fatal("the test does not know its own modules")
	}
	complete := func() []cyclonedx.Component {
		components := []cyclonedx.Component{{Name: standardLibrary, Version: info.GoVersion, Licenses: licenceChoices([]string{"MIT"})}}
		for _, dep := range info.Deps {
			components = append(components, cyclonedx.Component{Name: dep.Path, Version: dep.Version, Licenses: licenceChoices([]string{"MIT"})})
		}
		return components
	}
	if err := checkModules(complete(), info); err != nil {
		t.Error(err)
	}
	for name, spoil := range map[string]func([]cyclonedx.Component) []cyclonedx.Component{
		"one less":  func(c []cyclonedx.Component) []cyclonedx.Component { return c[1:] },
		"one twice": func(c []cyclonedx.Component) []cyclonedx.Component { return append(c, c[0]) },
		"other version": func(c []cyclonedx.Component) []cyclonedx.Component {
			c[1].Version += "-other"
			return c
		},
		"no licence": func(c []cyclonedx.Component) []cyclonedx.Component {
			c[1].Licenses = licenceChoices(nil)
			return c
		},
	} {
		if checkModules(spoil(complete()), info) == nil {
			t.Errorf("%s: not noticed", name)
		}
	}
}

// A module of this repository is named by its path, with the version of the program.
func TestOwnModuleIsNamed(t *testing.T) {
	info := &debug.BuildInfo{GoVersion: "go1.26.0", Main: debug.Module{Path: "own.test/program", Version: "v1.2.3"}, Deps: []*debug.Module{
		{Path: "own.test", Version: "v0.0.0", Replace: &debug.Module{Path: "../", Version: "(devel)"}},
		{Path: "other.test", Version: "v0.1.0", Sum: "h1:1="},
	}}
	mit := licenceChoices([]string{"MIT"})
	components := []cyclonedx.Component{
		{Name: "../", Version: "(devel)", PackageURL: "pkg:golang/../@(devel)?type=module", Licenses: mit},
		{Name: "other.test", Version: "v0.1.0", PackageURL: "pkg:golang/other.test@v0.1.0?type=module", Licenses: mit},
		{Name: standardLibrary, Version: info.GoVersion, Licenses: mit},
	}
	if checkModules(components, info) == nil {
		t.Error("a folder is taken for a module")
	}
	nameOwn(components, info)
	if err := checkModules(components, info); err != nil {
		t.Error(err)
	}
	if own, other := components[0].PackageURL, components[1].PackageURL; own != "pkg:golang/own.test?type=module" || other != "pkg:golang/other.test@v0.1.0?type=module" {
		t.Errorf("addresses %q and %q", own, other)
	}
}

func TestSchema(t *testing.T) {
	folder, err := exec.Command("go", "list", "-C", "../../..", "-modfile=.ci/tools/cyclonedx-gomod.mod", "-m", "-f", "{{.Dir}}",
		"github.com/CycloneDX/cyclonedx-gomod").Output()
	if err != nil {
		t.Fatal(err)
	}
	schemas := filepath.Join(strings.TrimSpace(string(folder)), "internal", "testutil", "schema")
	for document, valid := range map[string]bool{
		`{"bomFormat":"CycloneDX","specVersion":"1.6","version":1}`:                                                                                       true,
		`{"bomFormat":"SPDX","specVersion":"1.6","version":1}`:                                                                                            false,
		`{"bomFormat":"CycloneDX","specVersion":"1.6","version":1,"components":[{"name":"m"}]}`:                                                           false,
		`{"bomFormat":"CycloneDX","specVersion":"1.6","version":1,"components":[{"type":"library","name":"m","licenses":[{"license":{"id":"Sunday"}}]}]}`: false,
	} {
		if err := checkSchema([]byte(document), cyclonedx.SpecVersion1_6, schemas); (err == nil) != valid {
			t.Errorf("%s: %v, want valid: %v", document, err, valid)
		}
	}
}
