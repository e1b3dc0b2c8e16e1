package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirtest"
)

// limits shows what a request at each limit costs, and one beyond it.
func limits(_ context.Context, s settings) error {
	heading("Limits: JSON to JSON in one process, one core", "body", "MB", "outcome", "ms", "allocated MB", "live at most MB")
	for _, sample := range atLimits() {
		w := &work{body: sample.body, pipeline: newPipeline()}
		outcome := "answered"
		once := func() error {
			err := w.whole()
			if refusal, ok := errors.AsType[*fault.Errors](err); ok {
				outcome = fmt.Sprintf("refused: %v", refusal.Kind())
				return nil
			}
			return err
		}
		times, err := race([]contender{{sample.name, once}}, s.seconds)
		if err != nil {
			return err
		}
		allocated, live, err := memory(once)
		if err != nil {
			return err
		}
		row(sample.name, megabytes(float64(len(sample.body))), outcome, fmt.Sprintf("%.2f", float64(times[0].Nanoseconds())/1e6), megabytes(allocated), megabytes(live))
	}
	return nil
}

func megabytes(bytes float64) string { return fmt.Sprintf("%.1f", bytes/1e6) }

// atLimits are bodies at the limits and beyond them.
func atLimits() []sample {
	limit := fhir.DefaultLimits
	samples := []sample{
		{"as many Observations as fit", largest(limit.Bytes)},
		{"a byte too long", bytes.Repeat([]byte(" "), limit.Bytes+1)},
		{"as many entries as may be", entries(limit.Entries)},
		{"an entry too many", entries(limit.Entries + 1)},
		{"brackets only", bytes.Repeat([]byte("["), limit.Bytes)},
		{"one string", fmt.Appendf(nil, `{"resourceType":"Bundle","type":"collection","implicitRules":"urn:%s"}`, strings.Repeat("a", limit.Bytes-100))},
		{"values alike but for their ends", alike(limit.Bytes)},
		{"a problem in each entry", bytes.ReplaceAll(largest(limit.Bytes), []byte(`"status":"final"`), []byte(`"status":" inal"`))},
	}
	for _, s := range fhirtest.Shapes() {
		samples = append(samples, sample{s.Name, s.Largest(limit.Bytes, limit.Entries)})
	}
	return samples
}

// largest is the Bundle of most Observations that is not over the limit.
func largest(limit int) []byte {
	const step = 100
	n := step
	for len(fhirtest.Bundle(n+step)) <= limit {
		n += step
	}
	return fhirtest.Bundle(n)
}

// alike is an Observation of categories that differ only at their innermost, as
// deep as may be: the most that comparing values with those before can take.
func alike(limit int) []byte {
	const levels = 11
	begin := strings.Repeat(`{"extension":[{"url":"urn:a","valueCodeableConcept":`, levels)
	end := strings.Repeat("}]}", levels)
	body := []byte(`{"resourceType":"Bundle","type":"collection","entry":[{"resource":{"resourceType":"Observation","category":[`)
	for n := 0; len(body) < limit-2*len(begin); n++ {
		body = fmt.Appendf(body, `%s{"text":"%d"}%s,`, begin, n, end)
	}
	return append(body, `{"text":"a"}],"status":"final","code":{"text":"a"}}}]}`...)
}

// entries is a Bundle with one patient and many resources that are not read.
func entries(n int) []byte {
	const one = `{"resource":{"resourceType":"Basic","id":"b"}}`
	return fmt.Appendf(nil, `{"resourceType":"Bundle","type":"collection","entry":[%s%s]}`, strings.Repeat(one+",", n-1), one)
}
