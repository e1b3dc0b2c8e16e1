package invent

import (
	"fmt"
	"strings"
	"time"
)

// vitals writes measurements that are about something else.
func (w *export) vitals(p *person, day time.Time, n int) {
	for range n {
		w.observation(p.rng, p.head("e", day, loinc, "8867-4")+
			fmt.Sprintf(`,"valueQuantity":{"value":%d,"unit":"/min","system":"http://unitsofmeasure.org","code":"/min"}}`, 60+p.rng.IntN(40)))
	}
}

// giant is a patient of whom a watch has sent more than all others have together.
func (w *export) giant(i int) {
	w.patient(i)
	p := newPerson(w.o, i)
	p.number = 1_000_000
	w.vitals(p, p.first, w.o.Giant)
}

// noise writes what goes wrong in records.
func (w *export) noise(p *person) {
	spoil := func(old, replacement string) {
		text := p.head("e", p.first, shoulderCodes, "isometric-external-rotation-strength") + site(p.involved) +
			`,"valueQuantity":{"value":80,"unit":"N","system":"http://unitsofmeasure.org","code":"N"},"component":[` + component("arm-position", "arm-at-side") + `]}`
		w.observation(p.rng, strings.Replace(text, old, replacement, 1))
	}
	switch p.rng.IntN(60) {
	case 0:
		spoil(`"status":"final"`, `"status":"entered-in-error"`)
	case 1:
		spoil(`"code":"N"}`, `"code":"stone"}`)
	case 2:
		spoil(`"subject":{"reference":"Patient/`+p.id+`"}`, `"subject":{"display":"nobody knows"}`)
	case 3:
		spoil(`"subject":{"reference":"Patient/`, `"focus":[{"reference":"Patient/another"}],"subject":{"reference":"https://record.example/fhir/Patient/`)
	case 4:
		spoil(`"status":"final"`, `"status":7`)
	case 5:
		spoil(`"valueQuantity"`, `"valueQuantity":{"value":90},"valueQuantity"`)
	case 6:
		w.line("MedicationRequest", 0, fmt.Sprintf(`{"resourceType":"MedicationRequest","id":"%s-m","subject":{"reference":"Patient/%s"}}`, p.id, p.id))
	case 7:
		w.line("Observation", 0, fmt.Sprintf(`{"resourceType":"Observation","id":"%s-g","status":"final","code":{"coding":[{"system":%q,"code":"8867-4"}]},"subject":{"reference":"Group/g1"}}`, p.id, loinc))
		w.counts.Observations++
	case 8:
		w.line("Condition", 0, fmt.Sprintf(`{"resourceType":"Condition","id":"%s-k","code":{"coding":[{"system":%q,"code":"44054006"}]},"subject":{"reference":"Patient/%s"}}`, p.id, snomed, p.id))
	case 9:
		w.line("Observation", 0, "")
	}
}
