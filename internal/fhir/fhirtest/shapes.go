package fhirtest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
)

// A Shape is a way to fill a Bundle so that one part of the work is as dear as
// it can be: any loop over the entries that stood within another would show.
// All data is invented.
type Shape struct {
	Name string
	// Entry is entry i; nil if all is in one entry.
	Entry func(i int) string
	// Inside are the elements of the one entry, an Observation, which holds n of
	// what the name says.
	Inside func(n int) string
	// Refused is the kind of fault that it is refused for, empty if it is
	// answered.
	Refused string
}

// Shapes are all shapes.
func Shapes() []Shape {
	return slices.Concat(patients(), visits(), measurements(), lists(), copies(), others())
}

// Body is the Bundle of a Condition and n entries, or one entry that holds n of
// what the name says. The same n gives the same bytes.
func (s Shape) Body(n int) []byte {
	var b strings.Builder
	b.WriteString(`{"resourceType":"Bundle","type":"collection","entry":[`)
	b.WriteString(rightTear)
	if s.Entry == nil {
		b.WriteString("," + entry("Observation", 0, s.Inside(n)))
		n = 0
	}
	for i := range n {
		b.WriteString("," + s.Entry(i))
	}
	b.WriteString("]}")
	return []byte(b.String())
}

// Largest is the Body that is within limits of its length and its entries.
func (s Shape) Largest(length, entries int) []byte {
	const some = 1000
	n := some * length / len(s.Body(some))
	if s.Entry != nil {
		n = min(n, entries-1)
	}
	for ; ; n -= 1 + n/100 {
		if body := s.Body(n); len(body) <= length {
			return body
		}
	}
}

// Mixture is a shape whose entries take turns to be of a few shapes that are
// answered.
func Mixture(random *rand.Rand) Shape {
	var answered []Shape
	for _, s := range Shapes() {
		if s.Entry != nil && s.Refused == "" {
			answered = append(answered, s)
		}
	}
	random.Shuffle(len(answered), func(i, j int) { answered[i], answered[j] = answered[j], answered[i] })
	some := answered[:2+random.IntN(3)]
	var names []string
	for _, s := range some {
		names = append(names, s.Name)
	}
	return Shape{Name: strings.Join(names, " and "), Entry: func(i int) string { return some[i%len(some)].Entry(i) }}
}

// patients are shapes of many patients.
func patients() []Shape {
	const refused = "several-patients"
	return []Shape{
		{Name: "distinct Patients", Refused: refused, Entry: func(i int) string {
			return entry("Patient", i, fmt.Sprintf(`"identifier":[{"system":"urn:s","value":"%d"}]`, i))
		}},
		{Name: "distinct relative subjects", Refused: refused, Entry: func(i int) string {
			return strength(i, trial{subject: fmt.Sprintf("Patient/p%d", i)})
		}},
		{Name: "distinct urn:uuid subjects", Refused: refused, Entry: func(i int) string {
			return strength(i, trial{subject: fmt.Sprintf("urn:uuid:00000000-0000-4000-8000-%012d", i)})
		}},
		{Name: "distinct subjects by identifier", Refused: refused, Entry: func(i int) string {
			return entry("Observation", i, fmt.Sprintf(`"status":"final","code":{"text":"a"},"subject":{"identifier":{"system":"urn:s","value":"%d"}}`, i))
		}},
		{Name: "the patient by long references", Entry: func(i int) string {
			return strength(i, trial{subject: "https://record.example/" + strings.Repeat("a/", 100) + "Patient/example", encounter: i})
		}},
		{Name: "the patient contained", Entry: func(i int) string {
			return strength(i, trial{subject: "#c1", more: `,"contained":[{"resourceType":"Patient","id":"c0"},` +
				`{"resourceType":"Patient","id":"c1","identifier":[{"system":"urn:s","value":"1"}]}]`})
		}},
	}
}

// visits are shapes of many visits, or of visits that compare badly.
func visits() []Shape {
	return []Shape{
		{Name: "one side and a visit a day", Entry: func(i int) string { return strength(i, trial{day: i}) }},
		{Name: "one side and visits of one day", Entry: func(i int) string { return strength(i, trial{encounter: 1 + i}) }},
		{Name: "visits of one day", Entry: func(i int) string { return strength(i, trial{encounter: 1 + i/2, left: i%2 == 1}) }},
		{Name: "sides tested differently in visits of one day", Entry: func(i int) string {
			return strength(i, trial{encounter: 1 + i, left: i%2 == 1, contraction: i % 2})
		}},
		{Name: "every kind of test in many visits", Entry: func(i int) string { return strength(i, everyTest(i)) }},
		{Name: "every kind of test in one visit", Entry: func(i int) string { return strength(i, onDay(0, everyTest(i))) }},
		{Name: "every kind of test beside a pain", Entry: func(i int) string {
			if i%2 == 0 {
				return pain(i)
			}
			return strength(i, onDay(0, everyTest(i/2)))
		}},
		{Name: "lever arms in one visit before the tests", Entry: func(i int) string {
			if i%2 == 0 {
				return leverArm(i)
			}
			return strength(i, trial{day: 1 + i})
		}},
	}
}

// measurements are shapes of one measurement that was repeated.
func measurements() []Shape {
	return []Shape{
		{Name: "trials of one test", Entry: func(i int) string { return strength(i, trial{value: fmt.Sprintf("1%d.%05d", i%7, i)}) }},
		{Name: "trials of forty digits", Entry: func(i int) string { return strength(i, trial{value: fmt.Sprintf("1%d.%038d", i%7, i)}) }},
		{Name: "grades of one test", Entry: grade},
		{Name: "ranges of one movement", Entry: flexion},
		{Name: "pains of one context", Entry: pain},
		{Name: "a problem in each Observation", Refused: "nothing-to-assess", Entry: func(i int) string { return strength(i, trial{value: "-1"}) }},
		{Name: "examiners without number", Entry: func(i int) string {
			return strength(i, trial{more: fmt.Sprintf(`,"performer":[{"reference":"Practitioner/t%d"}]`, i)})
		}},
	}
}

// lists are shapes of one Observation with a long list.
func lists() []Shape {
	const refused = "nothing-to-assess"
	return []Shape{
		{Name: "trials in one Observation", Inside: listOf("component", trialComponent("1%d.%d"))},
		{Name: "trials of forty digits in one Observation", Inside: listOf("component", trialComponent("1%d.%038d"))},
		{Name: "trials that cannot be read", Refused: refused, Inside: listOf("component", trialComponent("-1%d.%d"))},
		{Name: "components that are not read", Refused: refused, Inside: func(n int) string {
			return strengthOf(trial{more: `,"component":[` + repeated(n, func(int) string { return `{"code":{"text":"a"}}` }) + "]"})
		}},
		{Name: "components without content", Refused: refused, Inside: func(n int) string {
			return strengthOf(trial{more: `,"component":[` + repeated(n, func(int) string { return "{}" }) + "]"})
		}},
		{Name: "codings of one method", Inside: func(n int) string {
			return strengthOf(trial{more: `,"method":{"coding":[` + repeated(n, func(i int) string {
				return fmt.Sprintf(`{"system":"urn:s","code":"c%d"}`, i)
			}) + "]}"})
		}},
		{Name: "performers of one Observation", Inside: listOf("performer", func(i int) string { return fmt.Sprintf(`{"reference":"Practitioner/t%d"}`, i) })},
		{Name: "identifiers of one Observation", Inside: listOf("identifier", func(i int) string { return fmt.Sprintf(`{"system":"urn:s","value":"%d"}`, i) })},
		{Name: "contained in one Observation", Inside: listOf("contained", func(i int) string {
			return fmt.Sprintf(`{"resourceType":"Patient","id":"c%d","identifier":[{"system":"urn:s","value":"%d"}]}`, i, i)
		})},
	}
}

// copies are shapes in which a resource comes more than once.
func copies() []Shape {
	return []Shape{
		{Name: "copies without a version", Refused: "nothing-to-assess", Entry: func(i int) string { return strength(0, trial{value: fmt.Sprintf("1%d.5", i%90)}) }},
		{Name: "pairs without a version", Refused: "nothing-to-assess", Entry: func(i int) string { return strength(i/2, trial{value: fmt.Sprintf("1%d.5", i%90)}) }},
		{Name: "versions of one Observation", Entry: func(i int) string {
			return strength(0, trial{more: fmt.Sprintf(`,"meta":{"versionId":"%d"}`, i)})
		}},
		{Name: "half deleted", Entry: func(i int) string {
			if i/3%2 == 0 { // in threes, so that some are left where shapes take turns
				return fmt.Sprintf(`{"request":{"method":"DELETE","url":"Observation/o%d"}}`, i/2)
			}
			return strength(i, trial{})
		}},
	}
}

// others are shapes of resources beside the measurements.
func others() []Shape {
	return []Shape{
		{Name: "Conditions", Entry: beside(func(i int) string { return entry("Condition", i, tear) })},
		{Name: "a chain of references", Entry: func(i int) string {
			return strength(i, trial{more: fmt.Sprintf(`,"derivedFrom":[{"reference":"Observation/o%d"}]`, i+1)})
		}},
		{Name: "repairs", Entry: beside(func(i int) string {
			return entry("Procedure", i, `"status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"61774002"}]},"bodySite":[`+site(false)+"],"+ofExample)
		})},
		{Name: "earlier plans", Entry: beside(func(i int) string {
			return entry("CarePlan", i, fmt.Sprintf(`"status":"active","intent":"proposal","identifier":[{"system":"https://evenreach.example/fhir/id","value":"%d"}],`, i)+ofExample)
		})},
	}
}

// beside puts one measurement before the entries.
func beside(one func(i int) string) func(int) string {
	return func(i int) string {
		if i == 0 {
			return strength(i, trial{})
		}
		return one(i)
	}
}

// listOf are the elements of an Observation of a strength with a list of n.
func listOf(element string, one func(i int) string) func(n int) string {
	return func(n int) string {
		if element == "component" {
			return strengthOf(trial{more: `,"component":[` + component("arm-position", "arm-at-side") + "," + repeated(n, one) + "]"})
		}
		return strengthOf(trial{more: fmt.Sprintf(`,%q:[%s]`, element, repeated(n, one))})
	}
}

func repeated(n int, one func(i int) string) string {
	all := make([]string, n)
	for i := range all {
		all[i] = one(i)
	}
	return strings.Join(all, ",")
}
