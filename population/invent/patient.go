package invent

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// The truth of what is invented. All of it is ours.
const (
	Plateau       = 99.0 // per cent, the median index at which recoveries end
	PlateauSpread = 0.07 // standard deviation of its logarithm between patients
	Gap           = 0.35 // of the plateau, at the beginning
	Weeks         = 8.0  // in which the gap shrinks to 37 %
	Error         = 0.05 // standard deviation of the logarithm of one strength
)

// Index is the true index of a percentile, from 0 to 1, of the patients some weeks after
// the first visit, as it is measured: in per cent. Recovery begins at the first visit.
func Index(percentile, weeks float64) float64 {
	spread := math.Sqrt(PlateauSpread*PlateauSpread + 2*Error*Error)
	return Plateau * (1 - Gap*math.Exp(-weeks/Weeks)) * math.Exp(spread*math.Sqrt2*math.Erfinv(2*percentile-1))
}

// begin is the day of the first visit of all.
var begin = time.Date(2025, 1, 6, 9, 0, 0, 0, time.FixedZone("", 3600))

// person is one invented patient.
type person struct {
	id       string
	rng      *rand.Rand
	involved int        // 0 right, 1 left
	plateau  float64    // as a fraction of the other side
	gap      float64    // at the beginning, of the plateau
	strength [6]float64 // N, of the other side
	device   int
	first    time.Time
	number   int // of Observations so far
	visits   int
}

const (
	shoulderCodes = "https://evenreach.example/fhir/CodeSystem/shoulder"
	snomed        = "http://snomed.info/sct"
	loinc         = "http://loinc.org"
)

var (
	sites     = [...]string{"91774008", "91775009"} // right, left
	motions   = [...]string{"external", "internal"}
	positions = [...]string{"arm-at-side", "flexion-90", "abduction-90"}
	usual     = [...]float64{95, 80, 75, 120, 100, 95} // N
)

func newPerson(o Options, i int) *person {
	rng := rand.New(rand.NewPCG(o.Seed, uint64(i)))
	p := &person{id: fmt.Sprintf("p%d", i), rng: rng, involved: rng.IntN(2), device: rng.IntN(4), gap: Gap}
	p.plateau = Plateau / 100 * math.Exp(PlateauSpread*rng.NormFloat64())
	build := math.Exp(0.2 * rng.NormFloat64())
	for t := range p.strength {
		p.strength[t] = usual[t] * build
	}
	p.first = begin.AddDate(0, 0, rng.IntN(400)).Add(time.Duration(rng.IntN(32)) * 15 * time.Minute)
	return p
}

// patient writes one patient with all visits.
func (w *export) patient(i int) {
	p := newPerson(w.o, i)
	kind := p.rng.IntN(100)
	if w.o.Clean {
		kind = 99
	}
	w.line("Patient", 0, fmt.Sprintf(`{"resourceType":"Patient","id":%q,"meta":{"tag":[{"system":"http://terminology.hl7.org/CodeSystem/v3-ActReason","code":"HTEST"}]},"identifier":[{"system":"https://record.example/patient","value":"R%06d"}],"name":[{"family":"Invented","given":["Number %d"]}],"birthDate":"%d-05-17"}`, p.id, i, i, 1950+p.rng.IntN(50)))
	if kind >= 2 { // 2 % have no involved side
		w.line("Condition", 0, fmt.Sprintf(`{"resourceType":"Condition","id":"%s-c","clinicalStatus":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"active"}]},"code":{"coding":[{"system":%q,"code":"414033006"}]},"bodySite":[{"coding":[{"system":%q,"code":%q}]}],"subject":{"reference":"Patient/%s"}%s}`, p.id, snomed, snomed, sites[p.involved], p.id, onset(p, i)))
	}
	if p.rng.IntN(4) == 0 {
		w.repair(p)
	}
	if kind >= 2 && kind < 5 { // 3 % come for something else
		w.vitals(p, p.first, 5)
		return
	}
	if kind >= 5 && kind < 12 { // 7 % do not recover
		p.plateau, p.gap = 0.7*p.plateau, 0
	}
	w.visitsOf(p)
	if !w.o.Clean {
		w.noise(p)
	}
}

// onset is when the trouble began, before any repair; one record in five does not say.
func onset(p *person, i int) string {
	if i%5 == 0 {
		return ""
	}
	return fmt.Sprintf(`,"onsetDateTime":%q`, p.first.AddDate(0, 0, -OnsetDays(i)).Format(time.DateOnly))
}

// OnsetDays is how many days before the first visit the trouble of a patient began.
func OnsetDays(i int) int { return 250 + i%100 }

// repair writes a repair of the cuff, half a year before the first visit, so that load is
// allowed again.
func (w *export) repair(p *person) {
	day := p.first.AddDate(0, 0, -182-p.rng.IntN(60)).Format(time.DateOnly)
	code := [...]string{"61774002", "59213002"}[p.rng.IntN(2)]
	w.line("Procedure", 0, fmt.Sprintf(`{"resourceType":"Procedure","id":"%s-r","status":"completed","code":{"coding":[{"system":%q,"code":%q}]},"subject":{"reference":"Patient/%s"},"performedDateTime":%q,"bodySite":[{"coding":[{"system":%q,"code":%q}]}]}`, p.id, snomed, code, p.id, day, snomed, sites[p.involved]))
}

// visitsOf writes two to five visits, and for one patient of six a planned re-test a few
// days after the first.
func (w *export) visitsOf(p *person) {
	day := p.first
	for visit := range 2 + p.rng.IntN(4) {
		w.visit(p, day, "")
		if visit == 0 && p.rng.IntN(6) == 0 {
			w.visit(p, day.AddDate(0, 0, 2+p.rng.IntN(3)), `,"meta":{"tag":[{"system":"`+shoulderCodes+`","code":"planned-retest"}]}`)
		}
		day = day.AddDate(0, 0, 14+p.rng.IntN(22))
	}
}

// visit writes what is measured at one visit: both rotations in three positions on both
// sides, range and pain.
func (w *export) visit(p *person, day time.Time, meta string) {
	p.visits++
	encounter := fmt.Sprintf("%s-v%d", p.id, p.visits)
	w.line("Encounter", 0, fmt.Sprintf(`{"resourceType":"Encounter","id":%q%s,"status":"finished","class":{"system":"http://terminology.hl7.org/CodeSystem/v3-ActCode","code":"AMB"},"subject":{"reference":"Patient/%s"},"period":{"start":%q}}`, encounter, meta, p.id, day.Format(time.RFC3339)))
	weeks := day.Sub(p.first).Hours() / 24 / 7
	if meta != "" {
		weeks = 0 // nothing was done in between
	}
	index := p.plateau * (1 - p.gap*math.Exp(-weeks/Weeks))
	for test, strength := range p.strength {
		for side := range sites {
			newtons := strength
			if side == p.involved {
				newtons *= index
			}
			w.strength(p, encounter, day, test, side, newtons*math.Exp(Error*p.rng.NormFloat64())*drift(p.device, day))
		}
	}
	w.motion(p, encounter, day, "41389-8", 140+30*index)
	w.motion(p, encounter, day, "41381-5", 135+30*index)
	for _, context := range [...]string{"during-resisted-test", "at-rest", "worst-24h"} {
		w.pain(p, encounter, day, context, p.rng.IntN(3))
	}
	if !w.o.Clean {
		w.vitals(p, day, p.rng.IntN(2))
	}
}

// drift is what the fourth instrument makes of a force from the tenth month on.
func drift(device int, day time.Time) float64 {
	if device == 3 && day.After(begin.AddDate(0, 9, 0)) {
		return 1.25
	}
	return 1
}

// head begins an Observation.
func (p *person) head(encounter string, day time.Time, system, code string) string {
	p.number++
	return fmt.Sprintf(`{"resourceType":"Observation","id":"%s-o%d","status":"final","code":{"coding":[{"system":%q,"code":%q}]},"subject":{"reference":"Patient/%s"},"encounter":{"reference":"Encounter/%s"},"effectiveDateTime":%q,"performer":[{"reference":"Practitioner/t1"}]`,
		p.id, p.number, system, code, p.id, encounter, day.Format(time.RFC3339))
}

func site(side int) string {
	return fmt.Sprintf(`,"bodySite":{"coding":[{"system":%q,"code":%q}]}`, snomed, sites[side])
}

func component(code, value string) string {
	return fmt.Sprintf(`{"code":{"coding":[{"system":%q,"code":%q}]},"valueCodeableConcept":{"coding":[{"system":%q,"code":%q}]}}`, shoulderCodes, code, shoulderCodes, value)
}

func (w *export) strength(p *person, encounter string, day time.Time, test, side int, newtons float64) {
	w.observation(p.rng, p.head(encounter, day, shoulderCodes, "isometric-"+motions[test/3]+"-rotation-strength")+site(side)+
		fmt.Sprintf(`,"valueQuantity":{"value":%.1f,"unit":"N","system":"http://unitsofmeasure.org","code":"N"},"method":{"coding":[{"system":%q,"code":"handheld-dynamometry"}]},"device":{"reference":"Device/d%d"},"component":[`, newtons, shoulderCodes, p.device)+
		component("arm-position", positions[test%3])+","+component("arm-support", "supported")+","+component("contraction-type", "make")+`]}`)
}

func (w *export) motion(p *person, encounter string, day time.Time, code string, degrees float64) {
	w.observation(p.rng, p.head(encounter, day, loinc, code)+site(p.involved)+
		fmt.Sprintf(`,"valueQuantity":{"value":%.0f,"unit":"deg","system":"http://unitsofmeasure.org","code":"deg"}}`, min(degrees, 180)))
}

func (w *export) pain(p *person, encounter string, day time.Time, context string, score int) {
	w.observation(p.rng, p.head(encounter, day, loinc, "72514-3")+fmt.Sprintf(`,"valueInteger":%d,"component":[%s]}`, score, component("pain-context", context)))
}
