// Thirdparty says what others' work is in the binary of a program, and under which licence.
//
// Usage, in the root of the repository:
//
//	thirdparty notices MODULE PROGRAM                    print the table and the texts
//	thirdparty sbom MODULE PROGRAM BINARY SCHEMAS < BOM  add the licences to a CycloneDX
//	                                                     document, check it and print it
//
// MODULE is the folder of the module, PROGRAM the name of its program in cmd.
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
	err := errors.New("usage: thirdparty notices MODULE PROGRAM | thirdparty sbom MODULE PROGRAM BINARY SCHEMAS")
	switch {
	case len(os.Args) == 4 && os.Args[1] == "notices":
		err = printNotices(&out, program{os.Args[2], os.Args[3]})
	case len(os.Args) == 6 && os.Args[1] == "sbom":
		err = completeSBOM(os.Stdin, &out, program{os.Args[2], os.Args[3]}, os.Args[4], os.Args[5])
	}
	if err == nil {
		_, err = out.WriteTo(os.Stdout)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "thirdparty:", err)
		os.Exit(1)
	}
}
