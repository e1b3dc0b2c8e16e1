package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"

	"github.com/google/licensecheck"
)

// allowed are the licences, by SPDX id, under which others' work may be
// linked: all let a binary be passed on, with the notice.
var allowed = []string{
	"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0", "ISC", "MIT", "OFL-1.1",
	"LicenseRef-SunPro",
}

// readByHand are the ids of texts that the scanner does not know, by their
// SHA-256, so that a changed text is asked about again.
var readByHand = map[string]string{
	// gonum: "freely granted, provided that this notice is preserved".
	"1fad26590385d93b00c0d91989ee71cd1c91c74a126485f1b4f0bb44f7a32354": "LicenseRef-SunPro",
	// parquet-go, of its copy of cespare/xxhash: the MIT licence, behind a few words on where it is from.
	"4112d993296f1603d62efbc010a78c904874f43b8222ef0f6995a6385f431e72": "MIT",
}

// onlyAbout names, for a licence file that is about one package alone, that
// package.
var onlyAbout = map[string]string{
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/Bogaert-LICENSE":       "gonum.org/v1/gonum/integrate/quad",
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/MT19937-64-LICENSE":    "gonum.org/v1/gonum/mathext/prng",
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/MT19937-LICENSE":       "gonum.org/v1/gonum/mathext/prng",
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/W3C-BSD-LICENSE":       "gonum.org/v1/gonum/graph/formats/rdf",
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/W3C-TestSuite-LICENSE": "gonum.org/v1/gonum/graph/formats/rdf",
}

// leastCovered is the share of a text, in percent, that must be known licence
// text: what is left could be terms of its own. Measured: of the linked
// modules the lowest is 90.3, of go.yaml.in/yaml/v2's LICENSE.libyaml, which
// lists the files it is about.
const leastCovered = 90

// A file states terms of use.
type file struct {
	name string // in its module
	text []byte
	ids  []string
}

func newFile(name string, text []byte) file {
	return file{name, text, identify(name, text)}
}

var notice = regexp.MustCompile(`(?i)^notice\b`)

// identify returns the SPDX ids of a text, none if they are not known. A
// notice is passed on but is not a licence.
func identify(name string, text []byte) []string {
	if notice.MatchString(name) {
		return nil
	}
	digest := sha256.Sum256(text)
	if id, ok := readByHand[hex.EncodeToString(digest[:])]; ok {
		return []string{id}
	}
	coverage := licensecheck.Scan(text)
	if coverage.Percent < leastCovered {
		return nil
	}
	var ids []string
	for _, match := range coverage.Match {
		ids = append(ids, match.ID)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

// check reports a licence that is not known or not allowed.
func (f file) check() error {
	if len(f.ids) == 0 && !notice.MatchString(f.name) {
		return fmt.Errorf("%s is no known licence; read it, and say in readByHand what it is", f.name)
	}
	for _, id := range f.ids {
		if !slices.Contains(allowed, id) {
			return fmt.Errorf("%s: the licence %s is not on the list of those allowed", f.name, id)
		}
	}
	return nil
}
