// Command simulate writes the report of the simulation.
package main

import (
	"flag"
	"fmt"
	"os"

	"evenreach.example/internal/simulation"
)

func main() {
	patients := flag.Int("patients", 1000, "number of simulated patients in each world at each measurement error")
	seed := flag.Uint64("seed", 20261128, "seed of the random numbers")
	tuning := flag.Bool("tuning", false, "recoveries of the family on which the model's assumptions were chosen")
	flag.Parse()
	family := simulation.Judging
	if *tuning {
		family = simulation.Tuning
	}
	text, err := simulation.Report(*seed, *patients, family)
	if err != nil {
		fmt.Fprintln(os.Stderr, "simulate:", err)
		os.Exit(1)
	}
	fmt.Print(text)
}
