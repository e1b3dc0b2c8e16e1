package simulation

import (
	"errors"
	"sync"
)

// runAll runs the worlds in order, all errors of one at the same time.
func runAll(seed uint64, patients int, family Family) (results []*Result, err error) {
	for i := range Worlds {
		w := &Worlds[i]
		of, failed := make([]*Result, len(w.Errors)), make([]error, len(w.Errors))
		var running sync.WaitGroup
		for i, sem := range w.Errors {
			running.Go(func() { of[i], failed[i] = Run(seed, patients, w, family, sem) })
		}
		running.Wait()
		if err := errors.Join(failed...); err != nil {
			return nil, err
		}
		results = append(results, of...)
	}
	return results, nil
}

// find is the result of a world at a standard error of 10 %, the middle of the
// published range.
func find(results []*Result, world string) *Result {
	const sem = 10
	for _, r := range results {
		if r.World.Name == world && r.Error == sem {
			return r
		}
	}
	return &Result{World: &World{Name: world}, Error: sem}
}
