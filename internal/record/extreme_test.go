package record

import (
	"encoding/json"
	"testing"
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Numbers at the edge of what can be parsed are still answered in JSON: a
// statistic that is no number is left out with a reason.
func TestExtremeNumbersStayJSON(t *testing.T) {
	for _, values := range [][2]string{{"1e40", "1e-40"}, {"1e-40", "1e40"}, {"1e40", "1e40"}, {"1e-40", "1e-40"}, {"0", "5"}, {"5", "0"}} {
		e := shoulder.Episode{Involved: shoulder.Right}
		reading := &intake.Reading{AsOf: time.Date(2026, 3, 20, 9, 0, 0, 0, time.UTC)}
		for day := range 3 {
			s := shoulder.Session{When: time.Date(2026, 3, 2+7*day, 9, 0, 0, 0, time.UTC)}
			for i, side := range []shoulder.Side{shoulder.Right, shoulder.Left} {
				for _, motion := range shoulder.Trained {
					s.Trials = append(s.Trials, shoulder.Trial{
						Source: shoulder.SourceID(len(reading.Sources)), Motion: motion, Position: shoulder.AtSide,
						Side: side, Value: exact.MustParse(values[i]),
					})
					reading.Sources = append(reading.Sources, intake.Source{Kind: "Observation", Reference: fhir.Reference{Reference: "Observation/1"}})
				}
			}
			e.Sessions = append(e.Sessions, s)
		}
		reading.Episode = e
		a := assess.Assess(&reading.Episode, protocol.Default(), reading.AsOf)
		for _, o := range []Output{Transaction, Collection, Check} {
			if body := fhirjson.Encode(Build(a, reading, Options{Output: o})); !json.Valid(body) {
				t.Errorf("%v, %s: not JSON", values, o)
			}
		}
	}
}

// What nobody sent cannot break an answer.
func TestEmptyReading(t *testing.T) {
	e := shoulder.Episode{Involved: shoulder.Left}
	reading := &intake.Reading{Episode: e}
	b := Build(assess.Assess(&e, protocol.Default(), reading.AsOf), reading, Options{Output: Collection})
	if got := valueOf(results(b, fhir.CodeOverallReadiness)[0].Value); got != "insufficient-data" {
		t.Errorf("status %s, want insufficient-data", got)
	}
}
