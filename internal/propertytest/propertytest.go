// Package propertytest gives property tests a fixed seed where the CI variable
// is set, so that a change is judged by its own merits; elsewhere they draw a
// new one each time. Import it for its effect.
package propertytest

import (
	"flag"
	"os"

	_ "pgregory.net/rapid" // registers the flag
)

func init() {
	if os.Getenv("CI") != "" {
		if err := flag.Set("rapid.seed", "20261125"); err != nil {
			panic("propertytest: " + err.Error())
		}
	}
}
