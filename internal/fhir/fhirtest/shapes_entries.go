package fhirtest

import (
	"fmt"
	"strings"
	"time"
)

const (
	ours      = `"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":`
	ofExample = `"subject":{"reference":"Patient/example","identifier":{"system":"urn:s","value":"1"}}`
)

// tear are the elements of a Condition of the right shoulder.
var tear = `"code":{"coding":[{"system":"http://snomed.info/sct","code":"202843000"}]},"bodySite":[` + site(false) + "]," + ofExample

// rightTear says which shoulder is involved.
var rightTear = entry("Condition", 0, tear)

// firstDay leaves room for 20,000 days before today.
var firstDay = time.Date(1960, time.January, 1, 0, 0, 0, 0, time.UTC)

// entry is an entry with a resource of a type and its elements but the id.
func entry(typeName string, i int, elements string) string {
	return fmt.Sprintf(`{"resource":{"resourceType":%q,"id":"%c%d",%s}}`, typeName, typeName[0]|0x20, i, elements)
}

func site(left bool) string {
	code := "91774008"
	if left {
		code = "91775009"
	}
	return fmt.Sprintf(`{"coding":[{"system":"http://snomed.info/sct","code":%q}]}`, code)
}

// trial is one trial of a strength. The zero trial is of 100 N in external
// rotation of the right shoulder with the arm at the side, a make test.
type trial struct {
	subject     string // Patient/example if empty
	day         int    // after firstDay
	encounter   int    // none if 0
	left        bool
	internal    bool
	torque      bool
	position    int
	support     int
	contraction int
	instrument  int
	value       string
	more        string // elements
}

// everyTest is each of the 864 tests of two sides in turn, a day for each round.
func everyTest(i int) (t trial) {
	take := func(n int) int {
		digit := i % n
		i /= n
		return digit
	}
	t.left, t.internal, t.torque = take(2) == 1, take(2) == 1, take(2) == 1
	t.position, t.support, t.instrument, t.contraction = take(3), take(3), take(4), take(3)
	t.day = i
	return t
}

func onDay(day int, t trial) trial {
	t.day = day
	return t
}

func strength(i int, t trial) string { return entry("Observation", i, strengthOf(t)) }

// strengthOf are the elements of an Observation. Components in more stand for
// those of the trial.
func strengthOf(t trial) string {
	motion, subject, value, unit := "external", "Patient/example", "100", "N"
	if t.internal {
		motion = "internal"
	}
	if t.subject != "" {
		subject = t.subject
	}
	if t.value != "" {
		value = t.value
	}
	if t.torque {
		unit = "N.m"
	}
	elements := observed(fmt.Sprintf(`%s"isometric-%s-rotation-strength"`, ours, motion), t.day, t.left) +
		fmt.Sprintf(`"subject":{"reference":%q},"valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":%q}`, subject, value, unit)
	if t.encounter > 0 {
		elements += fmt.Sprintf(`,"encounter":{"reference":"Encounter/e%d"}`, t.encounter)
	}
	if method := [...]string{"", "handheld", "belt-stabilised", "isokinetic"}[t.instrument]; method != "" {
		elements += fmt.Sprintf(`,"method":{"coding":[{%s"%s-dynamometry"}]}`, ours, method)
	}
	if strings.Contains(t.more, `"component"`) {
		return elements + t.more
	}
	return elements + `,"component":[` + conditionsOf(t) + "]" + t.more
}

// conditionsOf are the components that say how a strength was tested.
func conditionsOf(t trial) string {
	all := component("arm-position", positions[t.position])
	if support := [...]string{"", "supported", "unsupported"}[t.support]; support != "" {
		all += "," + component("arm-support", support)
	}
	if contraction := [...]string{"make", "break", ""}[t.contraction]; contraction != "" {
		all += "," + component("contraction-type", contraction)
	}
	return all
}

func component(code, value string) string {
	return fmt.Sprintf(`{"code":{"coding":[{%s%q}]},"valueCodeableConcept":{"coding":[{%s%q}]}}`, ours, code, ours, value)
}

// trialComponent is a trial whose value is of a format with two numbers.
func trialComponent(format string) func(i int) string {
	return func(i int) string {
		return fmt.Sprintf(`{"code":{"coding":[{%s"trial"}]},"valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":"N"}}`,
			ours, fmt.Sprintf(format, i%7, i))
	}
}

// observed is what every Observation says: status, code, day and side.
func observed(coding string, day int, left bool) string {
	return fmt.Sprintf(`"status":"final","code":{"coding":[{%s}]},"effectiveDateTime":%q,"bodySite":%s,`,
		coding, firstDay.AddDate(0, 0, day).Format(time.DateOnly), site(left))
}

func pain(i int) string {
	return entry("Observation", i, observed(`"system":"http://loinc.org","code":"72514-3"`, 0, false)+
		ofExample+`,"valueInteger":1,"component":[`+component("pain-context", "during-resisted-test")+"]")
}

func leverArm(i int) string {
	return entry("Observation", i, observed(ours+`"lever-arm-length"`, 0, true)+
		ofExample+`,"valueQuantity":{"value":0.25,"system":"http://unitsofmeasure.org","code":"m"}`)
}

func grade(i int) string {
	return entry("Observation", i, observed(ours+`"manual-muscle-test-external-rotation"`, 0, false)+
		ofExample+`,"valueString":"4","component":[`+component("arm-position", "arm-at-side")+"]")
}

func flexion(i int) string {
	return entry("Observation", i, observed(`"system":"http://loinc.org","code":"41307-0"`, 0, false)+
		ofExample+`,"valueQuantity":{"value":140,"system":"http://unitsofmeasure.org","code":"deg"}`)
}
