package config

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"evenreach.example/internal/service"
	"evenreach.example/internal/shape"
	"evenreach.example/internal/tenant"
	"evenreach.example/internal/wording"
)

// readTenants reads and checks a tenants file and the files that it names; nil if no file is given. The error lists
// everything that is wrong with any of them, one problem a line.
func readTenants(file string, common service.Content, words *wording.Catalogue) (*service.Tenants, error) {
	directory, err := readDirectory(file)
	if directory == nil {
		return nil, err
	}
	all := &service.Tenants{Directory: directory, All: map[string]service.Tenant{}}
	problems := []error{err}
	for i := range directory.Tenants {
		one, err := readTenant(filepath.Dir(file), &directory.Tenants[i], common, words)
		if err != nil {
			problems = append(problems, fmt.Errorf("%s: tenants.%d: %w", file, i, err))
		}
		all.All[directory.Tenants[i].Name] = one
	}
	return all, errors.Join(problems...)
}

func readDirectory(file string) (*tenant.Directory, error) {
	if file == "" {
		return nil, nil
	}
	text, err := readFile(file)
	if err != nil {
		return nil, err
	}
	directory, err := tenant.Load(text)
	if problems, ok := errors.AsType[shape.Problems](err); ok {
		return directory, inFile(file, problems, func(p shape.Problem) error { return shape.Problems{p} })
	}
	return directory, err
}

// readTenant reads what the requests of a tenant are answered by. What it leaves out is that of the whole process.
func readTenant(folder string, t *tenant.Tenant, common service.Content, words *wording.Catalogue) (service.Tenant, error) {
	one := service.Tenant{AuditLabel: t.AuditLabel, Protocols: common.Protocols, Codes: common.Codes, Words: words}
	var problems []error
	if file := fromFolder(folder, t.Protocol); file != "" {
		protocols, err := Protocols(file)
		one.Protocols, problems = protocols, append(problems, err)
	}
	if file := fromFolder(folder, t.CodeMap); file != "" {
		codes, err := ReadCodeMap(file)
		one.Codes, problems = codes, append(problems, err)
	}
	if wording.Has(t.Language) { // Load refuses any other
		one.Words = one.Words.In(t.Language)
	}
	var unit wording.ForceUnit
	if err := unit.UnmarshalText([]byte(t.ForceUnit)); t.ForceUnit != "" && err == nil { // likewise
		one.Words = one.Words.InForce(unit)
	}
	return one, errors.Join(problems...)
}

// fromFolder is the path of a file that a tenant names, which may be relative to the folder of the tenants file;
// empty for none.
func fromFolder(folder, file string) string {
	if file == "" || filepath.IsAbs(file) {
		return file
	}
	return filepath.Join(folder, file)
}

// content reads what requests are answered by, which may be replaced while the service runs.
func (s Serve) content(r *resolver, words *wording.Catalogue) service.Content {
	c := service.Content{Protocols: r.protocols(s.Protocol), Codes: r.codes(s.CodeMap)}
	tenants, err := readTenants(s.Tenants, c, words)
	r.reportLines("tenants", err)
	if tenants != nil {
		c.Tenants = tenants
		s.checkTenants(r, tenants.Directory)
	}
	return c
}

// checkTenants holds a tenants file against the rest of the configuration.
func (s Serve) checkTenants(r *resolver, d *tenant.Directory) {
	known := slices.Concat(namesOf(s.Issuers), namesOf(s.HookClients))
	for i := range d.Tenants {
		for k, rule := range d.Tenants[i].Callers {
			if rule.Issuer != "" && !slices.Contains(known, rule.Issuer) {
				r.report("tenants", "%s: tenants.%d.callers.%d.issuer: found %q, which vouches for nobody here; expected one of --auth-issuers or --cds-clients", s.Tenants, i, k, rule.Issuer)
			}
			if rule.Certificate != "" && s.ClientCA == "" {
				r.report("tenants", "%s: tenants.%d.callers.%d.certificate: found no --tls-client-ca; expected one, because without it no caller shows a certificate", s.Tenants, i, k)
			}
		}
	}
	s.checkOwner(r, "record", d.Record, s.RecordBase, "--record-base")
	s.checkOwner(r, "messages", d.Messages, s.V2Target, "--v2-target")
}

// checkOwner wants an owner for what the process has once, and for nothing else.
func (s Serve) checkOwner(r *resolver, key, owner, configured, option string) {
	switch {
	case owner == "" && configured != "":
		r.report("tenants", "%s: %s: found none; expected the name of the tenant whose %s is", s.Tenants, key, option)
	case owner != "" && configured == "":
		r.report("tenants", "%s: %s: found %q without %s; expected both or neither", s.Tenants, key, owner, option)
	}
}

// namesOf are the names in NAME=ADDRESS pairs.
func namesOf(pairs string) (names []string) {
	for _, pair := range list(pairs) {
		name, _, _ := strings.Cut(pair, "=")
		names = append(names, name)
	}
	return names
}

// contentFiles are the files that content reads. Of a tenants file without the right shape only itself is known.
func (s Serve) contentFiles() []string {
	files := []string{s.Protocol, s.CodeMap, s.Tenants}
	if directory, _ := readDirectory(s.Tenants); directory != nil { // its problems are reported by content
		for i := range directory.Tenants {
			t, folder := &directory.Tenants[i], filepath.Dir(s.Tenants)
			files = append(files, fromFolder(folder, t.Protocol), fromFolder(folder, t.CodeMap))
		}
	}
	return slices.DeleteFunc(files, func(file string) bool { return file == "" })
}
