package record

import (
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// checkOutcome lists how each input was understood, one issue for each, followed by what
// was dropped, corrected or missing.
func (b *builder) checkOutcome() *fhir.OperationOutcome {
	o := &fhir.OperationOutcome{Issue: make([]fhir.OutcomeIssue, 0, len(b.r.Sources)+len(b.issues))}
	meanings := b.meanings()
	for i := range b.r.Sources {
		s := &b.r.Sources[i]
		issue := fhir.OutcomeIssue{
			Severity:   fault.Information.String(),
			Code:       "informational",
			Expression: []string{s.Path},
		}
		if code := meanings[i].code; code.Code != "" {
			issue.Details = &fhir.CodeableConcept{Coding: []fhir.Coding{code}, Text: strings.Join(meanings[i].terms, ", ")}
		}
		if s.Received != "" {
			issue.Diagnostics = "received " + s.Received
		}
		if values := meanings[i].values; len(values) > 0 {
			issue.Diagnostics = titledText(issue.Diagnostics, "read as "+strings.Join(values, "; "))
		}
		o.Issue = append(o.Issue, issue)
	}
	o.Issue = append(o.Issue, outcome(b.issues, b.w).Issue...)
	return o
}

// meaning is how an input was understood.
type meaning struct {
	code   fhir.Coding
	terms  []string
	values []string
}

// meanings lists how the inputs were understood, by source.
func (b *builder) meanings() []meaning {
	all := make([]meaning, len(b.r.Sources))
	e := b.a.Episode
	record := func(id shoulder.SourceID, code fhir.Coding, value string, terms ...string) {
		if id < 0 || int(id) >= len(all) {
			return
		}
		m := &all[id]
		m.code = code
		if len(m.terms) == 0 {
			m.terms = nonEmpty(terms)
		}
		if value != "" {
			m.values = append(m.values, value)
		}
	}
	for i := range e.Sessions {
		b.sessionMeanings(&e.Sessions[i], record)
	}
	ours := func(code string) fhir.Coding { return fhir.Coding{System: fhir.SystemShoulder, Code: code} }
	for _, c := range e.Clearances {
		record(c.Source, ours(fhir.CodeResistedClearance), yesOrNo(c.Cleared), b.side(c.Side))
	}
	for _, x := range e.Examinations {
		record(x.Source, ours(fhir.CodeExaminedAndCleared), yesOrNo(x.Cleared), b.side(x.Side))
	}
	for _, p := range e.Permits {
		record(p.Source, ours(fhir.CodePermittedLoad), p.Phase.String(), b.w.LoadPhase(p.Phase), b.side(p.Side))
	}
	for _, t := range e.Tears {
		record(t.Source, ours(fhir.CodeCuffTearSize), t.Centimetres.String()+" cm", b.side(t.Side))
	}
	for _, r := range e.Repairs {
		repair := fhir.Coding{System: fhir.SystemSNOMED, Code: fhir.SNOMEDCuffRepair, Display: "Repair of musculotendinous cuff of shoulder (procedure)"}
		day := ""
		if !r.Date.IsZero() {
			day = b.date(r.Date)
		}
		record(r.Source, repair, day, b.side(r.Side))
	}
	return all
}

// meaningRecorder records how an input was understood.
type meaningRecorder func(id shoulder.SourceID, code fhir.Coding, value string, terms ...string)

func (b *builder) sessionMeanings(s *shoulder.Session, record meaningRecorder) {
	ours := func(code string) fhir.Coding { return fhir.Coding{System: fhir.SystemShoulder, Code: code} }
	for i := range s.Trials {
		t := &s.Trials[i]
		value := t.Value.String() + " " + b.w.Unit(t.Dimension.Unit())
		if t.Confirmed {
			value += ", confirmed"
		}
		record(t.Source, ours(fhir.CodesOf(t.Motion).Strength), value,
			b.w.Motion(t.Motion), b.w.Position(t.Position), b.w.Support(t.Support), b.w.Contraction(t.Contraction),
			b.w.Instrument(t.Instrument), b.side(t.Side))
	}
	for i := range s.Grades {
		g := &s.Grades[i]
		record(g.Source, ours(fhir.CodesOf(g.Motion).Grade), g.Value.String(), b.w.Motion(g.Motion), b.w.Position(g.Position), b.side(g.Side))
	}
	for i := range s.Ranges {
		r := &s.Ranges[i]
		record(r.Source, rangeConcept(r.Movement, r.Active).Coding[0], amount(r.Degrees, "deg")+" "+b.w.Unit("deg"), b.w.Movement(r.Movement), b.side(r.Side))
	}
	for i := range s.Pains {
		p := &s.Pains[i]
		record(p.Source, painScore.Coding[0], amount(p.Score, "{score}"), b.w.PainContext(p.Context), b.side(p.Side))
	}
	for _, o := range s.Outcomes {
		if m := b.a.Protocol.Outcome(o.Measure); m != nil {
			record(o.Source, outcomeConcept(m).Coding[0], o.Value.String()+" "+b.w.Unit(m.Unit), b.w.Outcome(m), b.side(o.Side))
		}
	}
	for i := range s.Steady {
		h := &s.Steady[i]
		record(h.Source, ours(fhir.CodeArmHeldSteady), yesOrNo(h.Steady), b.w.Position(h.Position), b.side(h.Side))
	}
	for i := range s.Levers {
		l := &s.Levers[i]
		record(l.Source, ours(fhir.CodeLeverArmLength), l.Metres.String()+" m", b.side(l.Side))
	}
	if s.Mass != nil {
		record(s.Mass.Source, fhir.Coding{System: fhir.SystemLOINC, Code: fhir.LOINCBodyWeight}, s.Mass.Value.Text(1)+" kg")
	}
	if s.Height != nil {
		record(s.Height.Source, fhir.Coding{System: fhir.SystemLOINC, Code: fhir.LOINCBodyHeight}, s.Height.Value.Text(2)+" m")
	}
}

// side is the side in words, empty if it is not known.
func (b *builder) side(s shoulder.Side) string {
	if s == shoulder.SideUnknown {
		return ""
	}
	return b.w.Side(s)
}

func yesOrNo(yes bool) string {
	if yes {
		return "true"
	}
	return "false"
}

func nonEmpty(texts []string) []string {
	kept := texts[:0]
	for _, t := range texts {
		if t != "" {
			kept = append(kept, t)
		}
	}
	return kept
}
