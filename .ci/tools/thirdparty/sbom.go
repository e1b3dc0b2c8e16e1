package main

import (
	"bytes"
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/CycloneDX/cyclonedx-go"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// completeSBOM adds the licences to a CycloneDX document about a binary, and
// checks it. The generator's own guesses at licences are not asked for: it
// takes golang.org/x for BSD-Source-Code.
func completeSBOM(in io.Reader, out *bytes.Buffer, of program, binary, schemas string) error {
	var bom cyclonedx.BOM
	if err := cyclonedx.NewBOMDecoder(in, cyclonedx.BOMFileFormatJSON).Decode(&bom); err != nil {
		return err
	}
	if bom.Components == nil {
		return errors.New("the document has no components")
	}
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return err
	}
	modules, err := of.linkedModules()
	if err != nil {
		return err
	}
	licensed := map[string]module{}
	for _, m := range modules {
		licensed[m.Path] = m
	}
	nameOwn(*bom.Components, info)
	for _, dep := range info.Deps {
		if isOwn(dep) {
			licensed[dep.Path] = module{files: []file{{ids: ownLicence}}}
		}
	}
	for i, c := range *bom.Components {
		m, ok := licensed[c.Name]
		if !ok {
			return fmt.Errorf("%s is in the document, but no package of it is linked", c.Name)
		}
		(*bom.Components)[i].Licenses = licenceChoices(m.licences())
	}
	bom.Metadata.Component.Licenses = licenceChoices(ownLicence)
	if err := checkModules(*bom.Components, info); err != nil {
		return err
	}
	if err := cyclonedx.NewBOMEncoder(out, cyclonedx.BOMFileFormatJSON).SetPretty(true).EncodeVersion(&bom, bom.SpecVersion); err != nil {
		return err
	}
	return checkSchema(out.Bytes(), bom.SpecVersion, schemas)
}

var ownLicence = []string{"Apache-2.0"}

// isOwn reports whether a module is of this repository: it is taken from a folder beside.
func isOwn(m *debug.Module) bool { return m.Replace != nil && m.Replace.Sum == "" }

// nameOwn calls the modules of this repository what they are, because the generator calls them
// by the folder that they are taken from. They have the version of the program.
func nameOwn(components []cyclonedx.Component, info *debug.BuildInfo) {
	for _, dep := range info.Deps {
		for i := range components {
			if c := &components[i]; isOwn(dep) && c.Name == dep.Replace.Path {
				c.Name, c.Version = dep.Path, info.Main.Version
				c.PackageURL = "pkg:golang/" + dep.Path + "?type=module"
			}
		}
	}
}

// licenceChoices states licences that all hold. What SPDX has no id for is a
// name.
func licenceChoices(ids []string) *cyclonedx.Licenses {
	var choices cyclonedx.Licenses
	for _, id := range ids {
		licence := cyclonedx.License{ID: id}
		if strings.HasPrefix(id, "LicenseRef-") {
			licence = cyclonedx.License{Name: id}
		}
		choices = append(choices, cyclonedx.LicenseChoice{License: &licence})
	}
	return &choices
}

// checkModules fails unless the components are the modules that the binary
// itself names, and Go's library, each with a licence.
func checkModules(components []cyclonedx.Component, info *debug.BuildInfo) error {
	want := []string{standardLibrary + " " + info.GoVersion}
	for _, dep := range info.Deps {
		if isOwn(dep) {
			want = append(want, dep.Path+" "+info.Main.Version)
			continue
		}
		want = append(want, dep.Path+" "+dep.Version)
	}
	var got []string
	for _, c := range components {
		got = append(got, c.Name+" "+c.Version)
		if c.Licenses == nil || len(*c.Licenses) == 0 {
			return fmt.Errorf("%s has no licence in the document", c.Name)
		}
	}
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(got, want) {
		return fmt.Errorf("the document lists\n%s\nthe binary has\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	return nil
}

// checkSchema holds a document against CycloneDX' JSON Schema of its version,
// out of a folder with all of them.
func checkSchema(document []byte, version cyclonedx.SpecVersion, folder string) error {
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
	if err != nil {
		return err
	}
	compiler := jsonschema.NewCompiler()
	for _, name := range files {
		schema, err := readJSON(name)
		if err != nil {
			return err
		}
		// By what they call themselves, because they refer to each other so.
		if err := compiler.AddResource(schema["$id"].(string), schema); err != nil {
			return err
		}
	}
	schema, err := compiler.Compile("http://cyclonedx.org/schema/bom-" + version.String() + ".schema.json")
	if err != nil {
		return err
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(document))
	if err != nil {
		return err
	}
	return schema.Validate(value)
}

func readJSON(name string) (map[string]any, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var object map[string]any
	if err := json.Unmarshal(text, &object); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return object, nil
}
