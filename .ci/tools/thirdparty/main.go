// Thirdparty says what others' work is in the binary, and under which licence.
//
// Usage, in the root of the repository:
//
//	thirdparty notices                       print the table and the texts
//	thirdparty sbom BINARY SCHEMAS < BOM     add the licences to a CycloneDX
//	                                         document, check it and print it
//
// Both fail on a licence that is not on the list of those allowed.
package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
)

func main() {
	var out bytes.Buffer
	err := errors.New("usage: thirdparty notices | thirdparty sbom BINARY SCHEMAS")
	switch {
	case len(os.Args) == 2 && os.Args[1] == "notices":
		err = printNotices(&out)
	case len(os.Args) == 4 && os.Args[1] == "sbom":
		err = completeSBOM(os.Stdin, &out, os.Args[2], os.Args[3])
	}
	if err == nil {
		_, err = out.WriteTo(os.Stdout)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "thirdparty:", err)
		os.Exit(1)
	}
}
