package main

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"runtime/debug"
	"time"

	"gonum.org/v1/gonum/stat"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirtest"
)

// growth shows how time and memory grow with the number of Observations.
func growth(_ context.Context, s settings) error {
	heading("Growth: JSON to JSON in one process, one core", "Observations", "body kB", "ms", "microseconds an Observation", "allocated, times the body", "live at most, times the body")
	var counts, took []float64
	for _, n := range []int{10, 30, 100, 300, 1000, 3000, 10_000} {
		body := fhirtest.Bundle(n)
		w := &work{body: body, pipeline: newPipeline()}
		once := func() error { return w.within(fhir.Limits{Bytes: 2 * len(body)}) }
		times, err := race([]contender{{fmt.Sprint(n), once}}, s.seconds)
		if err != nil {
			return err
		}
		allocated, live, err := memory(once)
		if err != nil {
			return err
		}
		counts, took = append(counts, float64(n)), append(took, float64(times[0].Nanoseconds())/1000)
		size := float64(len(body))
		row(fmt.Sprint(n), fmt.Sprintf("%.0f", size/1000), fmt.Sprintf("%.2f", float64(times[0].Nanoseconds())/1e6),
			fmt.Sprintf("%.1f", float64(times[0].Nanoseconds())/1000/float64(n)), fmt.Sprintf("%.1f", allocated/size), fmt.Sprintf("%.1f", live/size))
	}
	// A line in the logarithms weighs the small histories like the large ones.
	logged := func(values []float64) (all []float64) {
		for _, v := range values {
			all = append(all, math.Log(v))
		}
		return all
	}
	weights := make([]float64, len(took)) // so that each row's error counts as a share of its time
	for i, t := range took {
		weights[i] = 1 / (t * t)
	}
	fixed, each := stat.LinearRegression(counts, took, weights, false)
	_, slope := stat.LinearRegression(logged(counts), logged(took), nil, false)
	_, large := stat.LinearRegression(logged(counts[4:]), logged(took[4:]), nil, false)
	fmt.Printf("\nTime is %.0f microseconds and %.1f an Observation, r squared %.4f. Slope of the logarithms: %.2f over all, %.2f from %.0f Observations on.\n",
		fixed, each, stat.RSquared(counts, took, weights, fixed, each), slope, large, counts[4])
	return nil
}

// memory is what one piece of work allocates in all, in bytes, and the most of
// it that is live at a time, found by collecting all the time. What is short is
// tried often, for it ends before one has looked.
func memory(once func() error) (allocated, live float64, err error) {
	if err := once(); err != nil { // fills pools
		return 0, 0, err
	}
	defer debug.SetGCPercent(debug.SetGCPercent(1))
	for start := time.Now(); time.Since(start) < 500*time.Millisecond; {
		var most float64
		if allocated, most, err = watched(once); err != nil {
			return 0, 0, err
		}
		live = max(live, most)
	}
	return allocated, live, nil
}

// watched is memory for one time.
func watched(once func() error) (allocated, live float64, err error) {
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	done := make(chan error, 1)
	go func() { done <- once() }()
	for {
		select {
		case err := <-done:
			runtime.ReadMemStats(&after)
			return float64(after.TotalAlloc - before.TotalAlloc), live, err
		case <-time.After(200 * time.Microsecond):
			runtime.ReadMemStats(&after)
			live = max(live, float64(after.HeapAlloc)-float64(before.HeapAlloc))
		}
	}
}
