// Command generate invents an export of a record, to try things with.
package main

import (
	"flag"
	"fmt"
	"os"

	"evenreach.example/population/invent"
)

func main() {
	var o invent.Options
	flag.IntVar(&o.Patients, "patients", 200, "number of invented patients")
	flag.Uint64Var(&o.Seed, "seed", 1, "seed of the random numbers")
	flag.IntVar(&o.Files, "files", 4, "number of files of Observations")
	flag.IntVar(&o.Giant, "giant", 0, "number of heart rates of one more patient")
	flag.BoolVar(&o.Clean, "clean", false, "without anything that goes wrong in records")
	flag.BoolVar(&o.Plain, "plain", false, "without compression")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "generate: expected the folder to write to")
		os.Exit(2)
	}
	counts, err := invent.Write(flag.Arg(0), o)
	if err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
	fmt.Printf("%d lines, %d of them Observations, %d cut off\n", counts.Lines, counts.Observations, counts.Broken)
}
