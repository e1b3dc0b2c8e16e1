package comparators

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"
)

// measured is a line that a comparator prints.
type measured struct {
	Name       string
	What       string
	Iterations int
	Seconds    float64
	CPUSeconds float64
}

// read reads the lines of JSON that a comparator prints, at least one.
func read(out []byte) (results []Result, err error) {
	for line := range bytes.Lines(out) {
		var m measured
		if err := json.Unmarshal(line, &m); err != nil {
			return nil, fmt.Errorf("not a result: %w: %.200s", err, line)
		}
		if m.Name == "" || m.Iterations < 1 || m.Seconds <= 0 || m.CPUSeconds <= 0 {
			return nil, fmt.Errorf("not a result: %.200s", line)
		}
		results = append(results, m.result())
	}
	if len(results) == 0 {
		return nil, fmt.Errorf("no result was printed")
	}
	return results, nil
}

func (m measured) result() Result {
	each := func(seconds float64) time.Duration {
		return time.Duration(seconds / float64(m.Iterations) * float64(time.Second))
	}
	return Result{
		Name: m.Name, What: m.What, Iterations: m.Iterations,
		PerOp: each(m.Seconds), CPUPerOp: each(m.CPUSeconds),
	}
}
