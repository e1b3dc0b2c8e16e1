package population

import (
	"context"
	"encoding/json"

	"evenreach.example/internal/fault"
)

// written is an outcome as it is written.
type written struct {
	patient  []byte
	rows     []Row
	rejected [][]byte
	results  []Result
	err      error // ends the work
}

// write assesses a group and encodes what is said about the patient.
func (a *Assessor) write(ctx context.Context, g *Group) *written {
	o, err := a.outcomeOf(ctx, g)
	if err != nil {
		return &written{err: err}
	}
	w := &written{rows: o.Rows, results: o.Results}
	w.patient, w.err = json.Marshal(&o.Patient)
	for i := range o.Rejected {
		line, err := json.Marshal(&o.Rejected[i])
		if err != nil {
			w.err = err
		}
		w.rejected = append(w.rejected, line)
	}
	return w
}

func (a *Assessor) outcomeOf(ctx context.Context, g *Group) (*Outcome, error) {
	if len(g.Dropped) == 0 {
		return a.Assess(ctx, g.Lines)
	}
	return a.tooMany(g), nil
}

// tooMany is the outcome of a patient with more than fits.
func (a *Assessor) tooMany(g *Group) *Outcome {
	const reason = "the patient was refused: more lines than one patient can have; expected at most 64 MiB and 200,000"
	o := &Outcome{Patient: Patient{Patient: a.Identity.Of(g.Dropped[0].Patient), Kind: Refused, Refusal: reason, Software: a.Pipeline.Version}}
	for _, line := range g.Dropped {
		o.Patient.Counts.reject(fault.TooLong.String())
		r := rejection(line.Place, "", fault.TooLong, reason)
		r.Patient = o.Patient.Patient
		o.Rejected = append(o.Rejected, r)
	}
	return o
}
