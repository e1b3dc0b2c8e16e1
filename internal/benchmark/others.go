package main

import (
	"context"
	"fmt"
	"time"

	"evenreach.example/internal/comparators"
	"evenreach.example/internal/fhir/fhirtest"
)

// others measures what else could be used, where it can be installed, and the
// whole request beside it.
func others(ctx context.Context, s settings) error {
	body := fhirtest.Bundle60()
	w := &work{body: body, pipeline: newPipeline()}
	times, err := race([]contender{{"Evenreach", w.whole}}, s.seconds)
	if err != nil {
		return err
	}
	heading("Others: 60 Observations, in a process of their own", "what", "processor ms", "against Evenreach", "what it does")
	row("Evenreach, JSON to JSON", milliseconds(times[0]), "1.0", "everything: decode, assess, write the resources, encode")
	results, notRun := comparators.Run(ctx, body)
	for _, r := range results {
		row(r.Name, milliseconds(r.CPUPerOp), fmt.Sprintf("%.1f", float64(r.CPUPerOp)/float64(times[0])), r.What)
	}
	for _, reason := range notRun {
		fmt.Printf("\nNot run: %s.\n", reason)
	}
	return nil
}

func milliseconds(d time.Duration) string { return fmt.Sprintf("%.2f", float64(d.Nanoseconds())/1e6) }
