package record

import (
	"slices"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// statusUnverified is the status of every computed Observation: it stays
// preliminary until a clinician has reviewed it, because R4's final means that
// nothing is left to be done, and its preliminary that data may be unverified.
//
// Source: FHIR R4 4.0.1, CodeSystem observation-status.
const statusUnverified = "preliminary"

// observation is a computed Observation of the involved shoulder.
func (b *builder) observation(code fhir.CodeableConcept, effective fhir.Value) *fhir.Observation {
	o := b.observations.One()
	*o = fhir.Observation{
		Status:    statusUnverified,
		Category:  exam,
		Code:      code,
		Subject:   b.subject,
		Effective: effective,
		BodySite:  b.bodySite,
		Device:    b.device,
	}
	return o
}

// encounterOf is the Encounter of a session, nil unless it is the latest one.
func (b *builder) encounterOf(session int) *fhir.Reference {
	if session == b.visit {
		return b.encounter
	}
	return nil
}

// encounterAt is the Encounter of what was measured at a time, nil unless that is
// the latest session's.
func (b *builder) encounterAt(when time.Time) *fhir.Reference {
	if b.visit >= 0 && when.Equal(b.a.Episode.Sessions[b.visit].When) {
		return b.encounter
	}
	return nil
}

// addResult adds an Observation to the answer and to the results of the report.
func (b *builder) addResult(o *fhir.Observation, key string) fhir.Reference {
	o.Meta = profiles[o.Code.Coding[0].Code]
	if cap(o.Component) > cap(b.drafted) {
		b.drafted = o.Component
	}
	o.Component = slices.Clone(o.Component)
	ref := b.add(o, &o.Common, key)
	b.results = append(b.results, ref)
	return ref
}

// profileOf is the published profile of a kind of result, which is named by its code.
// Every result meets its profile, which the conformance tests check.
func profileOf(code string) string { return fhir.CanonicalBase + "/StructureDefinition/" + code }

// setting is how a strength was tested, with the components that describe it.
type setting struct {
	of         measure.Setting
	components []fhir.Component
}

// draft is memory for the components of one Observation while they are added. addResult
// copies them, so that none takes more than it has.
func (b *builder) draft() []fhir.Component { return b.drafted[:0] }

// settingComponents are the components that describe how a strength was tested, to which
// more can be added. What was not stated is left out.
func (b *builder) settingComponents(s measure.Setting) []fhir.Component {
	return append(b.draft(), b.settingParts(s)...)
}

// settingParts are the components that all results of a setting share.
func (b *builder) settingParts(s measure.Setting) []fhir.Component {
	for i := range b.settings {
		if b.settings[i].of == s {
			return b.settings[i].components
		}
	}
	all := make([]fhir.Component, 0, 4)
	all = append(all, b.motionComponent(s.Motion))
	all = append(all, component(fhir.CodeArmPosition, b.coded(s.Position)))
	if s.Support != shoulder.SupportUnstated {
		all = append(all, component(fhir.CodeArmSupport, b.coded(s.Support)))
	}
	if s.Contraction != shoulder.ContractionUnstated {
		all = append(all, component(fhir.CodeContractionType, b.coded(s.Contraction)))
	}
	b.settings = append(b.settings, setting{s, all})
	return all
}

// method is how a strength was measured, nil if it was not stated.
func (b *builder) method(i shoulder.Instrument) *fhir.CodeableConcept {
	if i == shoulder.InstrumentUnstated {
		return nil
	}
	return b.coded(i)
}

// settingTitle is the title of a result: the test, followed by more.
func (b *builder) settingTitle(code string, s measure.Setting, more ...string) fhir.CodeableConcept {
	support := ""
	if s.Support != shoulder.SupportUnstated {
		support = b.w.Support(s.Support)
	}
	return b.titled(code, append([]string{b.w.Motion(s.Motion), b.w.Position(s.Position), support}, more...)...)
}

// settingKey distinguishes the results of several settings, and the results of one setting
// by what is named last.
func (b *builder) settingKey(code string, s measure.Setting, last string) string {
	return b.join(code, "/", s.Motion.String(), "/", s.Position.String(), "/", s.Support.String(), "/",
		s.Contraction.String(), "/", s.Instrument.String(), "/", last)
}
