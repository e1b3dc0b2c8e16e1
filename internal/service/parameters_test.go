package service

import (
	"net/http"
	"slices"
	"testing"
)

func TestParameters(t *testing.T) {
	h := start(t)
	given := object{"name": "bundle", "resource": good()}
	sideless := object{"name": "bundle", "resource": bundle(patient("p1"), strength("o1", right, 80), strength("o2", left, 100))}
	const first, second = "Parameters.parameter[0]", "Parameters.parameter[1]"
	tests := []struct {
		name   string
		body   object
		status int
		issues []string // kind and path of each error, in any order
	}{
		{"the Bundle alone", parameters(given), 200, nil},
		{"all of them", parameters(
			parameter("involvedSide", "valueCode", "right"), parameter("asOf", "valueDate", "2026-03-05"),
			parameter("output", "valueCode", "transaction"), parameter("protocol", "valueString", "evenreach-default"), given), 200, nil},
		{"side as string, time as dateTime, protocol with version", parameters(given,
			parameter("involvedSide", "valueString", "left"), parameter("asOf", "valueDateTime", "2026-03-05T08:00:00Z"),
			parameter("protocol", "valueString", "evenreach-default|2.0.0")), 200, nil},
		{"sheet, language and unit of force", parameters(given, parameter("sheet", "valueCode", "home"),
			parameter("language", "valueCode", "de"), parameter("forceUnit", "valueCode", "kgf")), 200, nil},
		{"sheet, language and unit of force that are not known", parameters(given, parameter("sheet", "valueCode", "poster"),
			parameter("language", "valueCode", "xx"), parameter("forceUnit", "valueCode", "stone")), 400, []string{
			"bad-parameter Parameters.parameter[1].value", "bad-parameter Parameters.parameter[2].value", "bad-parameter Parameters.parameter[3].value"}},
		{"side that the Bundle does not tell", parameters(sideless, parameter("involvedSide", "valueCode", "left")), 200, nil},

		{"no Bundle", parameters(parameter("output", "valueCode", "check")), 400, []string{"required-missing Parameters.parameter"}},
		{"another resource as the Bundle", parameters(object{"name": "bundle", "resource": patient("p1")}), 400, []string{"wrong-resource " + first + ".resource"}},
		{"unknown name", parameters(given, parameter("side", "valueCode", "left")), 400, []string{"bad-parameter " + second + ".name"}},
		{"given twice", parameters(given, given), 400, []string{"bad-parameter " + second}},
		{"both sides", parameters(given, parameter("involvedSide", "valueCode", "both")), 400, []string{"bad-parameter " + second + ".value"}},
		{"side as boolean", parameters(given, parameter("involvedSide", "valueBoolean", true)), 400, []string{"bad-parameter " + second}},
		{"a bad side is not a missing one", parameters(sideless, parameter("involvedSide", "valueCode", "Left")), 400, []string{"bad-parameter " + second + ".value"}},
		{"date as string", parameters(given, parameter("asOf", "valueString", "2026-03-05")), 400, []string{"bad-parameter " + second}},
		{"an answer that is none", parameters(given, object{"name": "response", "resource": bundle(patient("p9"))}), 400, []string{"wrong-resource Parameters.parameter[1].resource"}},
		{"a year", parameters(given, parameter("asOf", "valueDate", "2026")), 400, []string{"bad-parameter Parameters.parameter.where(name = 'asOf').value"}},
		{"unknown output", parameters(given, parameter("output", "valueCode", "pdf")), 400, []string{"bad-parameter " + second + ".value"}},
		{"parts", parameters(given, object{"name": "protocol", "part": []any{parameter("id", "valueString", "x")}}), 400, []string{"bad-parameter " + second + ".part"}},
		{"protocol that is not loaded", parameters(given, parameter("protocol", "valueString", "evenreach-default|0.9")), 422, []string{"unknown-protocol Parameters.parameter.where(name = 'protocol').value"}},
		{"everything at once", parameters(
			object{"name": "bundle", "resource": good(patient("p2"))},
			parameter("involvedSide", "valueCode", "up"), parameter("output", "valueCode", "pdf"),
			parameter("protocol", "valueString", "none"), parameter("x", "valueCode", "y")), 400, []string{
			"bad-parameter Parameters.parameter[1].value", "bad-parameter Parameters.parameter[2].value",
			"unknown-protocol Parameters.parameter.where(name = 'protocol').value", "bad-parameter Parameters.parameter[4].name",
			"several-patients Parameters.parameter[0].resource.entry[4].resource"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := h.do(request(text(t, tt.body)))
			if w.Code != tt.status {
				t.Fatalf("status %d, want %d: %.400s", w.Code, tt.status, w.Body)
			}
			if w.Code == http.StatusOK {
				return
			}
			var got []string
			for _, i := range outcomeOf(t, w.Body.Bytes()) {
				got = append(got, i.kind()+" "+i.Expression[0])
			}
			slices.Sort(got)
			slices.Sort(tt.issues)
			if !slices.Equal(got, tt.issues) {
				t.Errorf("issues %q, want %q", got, tt.issues)
			}
		})
	}
}

func TestCheckByHTTP(t *testing.T) {
	h := start(t)
	w := h.do(request(text(t, parameters(
		object{"name": "bundle", "resource": good(strength("bad", right, 70, noSide))},
		parameter("output", "valueCode", "check")))))
	if w.Code != http.StatusOK {
		t.Fatalf("status %d, want 200: %s", w.Code, w.Body)
	}
	issues := outcomeOf(t, w.Body.Bytes())
	dropped := slices.ContainsFunc(issues, func(i issue) bool { return i.kind() == "side-missing" })
	understood := slices.ContainsFunc(issues, func(i issue) bool {
		return i.Severity == "information" && slices.Equal(i.Expression, []string{"Parameters.parameter[0].resource.entry[2].resource"})
	})
	if !dropped || !understood {
		t.Errorf("issues %+v, want what was understood and what was dropped", issues)
	}
}
