package protocol

import (
	"errors"
	"maps"
	"testing"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/exact"
)

// An invented score.
const comfort = `{"id":"arm-comfort","codes":[{"system":"https://clinic.example/codes","code":"arm-comfort"}],
	"title":{"en":"arm comfort score","de":"Armkomfort-Wert"},"unit":"{points}","minimum":0,"maximum":100,"better":"higher",
	"detectable":{"comparison":">=","value":12,"unit":"{points}","source":"invented"},
	"important":{"comparison":">=","value":15,"unit":"{points}","source":"invented"},
	"gate":{"comparison":">=","value":60,"unit":"{points}","source":"invented"},"source":"invented"}`

func clinicWith(measures string) []byte {
	return []byte(`{"id":"clinic","version":"1","outcomeMeasures":[` + measures + `]}`)
}

func TestOutcomeMeasureLoads(t *testing.T) {
	p, err := Load(clinicWith(comfort))
	if err != nil {
		t.Fatal(err)
	}
	m := p.Outcome("arm-comfort")
	if m == nil || m.Better != Higher || m.Maximum.Cmp(exact.Int(100)) != 0 || m.Title["de"] != "Armkomfort-Wert" || m.Important == nil || m.Gate == nil {
		t.Fatalf("read as %+v", m)
	}
	if p.Outcome("other") != nil || Default().Outcome("arm-comfort") != nil {
		t.Error("a measure is found that is not there")
	}
	text, err := p.Text()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := Load(text); err != nil || again.Digest() != p.Digest() {
		t.Errorf("the printed protocol loads as %v, %v", again, err)
	}
}

// The default has no outcome measure, and its identifiers are what they were before
// there were any: the digest is part of every identifier of a result.
func TestOutcomeMeasuresLeaveTheDefaultAlone(t *testing.T) {
	const before = "055675" // with the course and one meaning of the words of certainty, without outcome measures
	if got := Default().Digest()[:len(before)]; got != before {
		t.Errorf("digest %s, want %s", got, before)
	}
}

func TestOutcomeMeasureRefused(t *testing.T) {
	tests := []struct {
		name   string
		change map[string]any // of the invented score
		path   string
	}{
		{"no id", map[string]any{"id": "arm comfort"}, "outcomeMeasures.0.id"},
		{"no code", map[string]any{"codes": []any{}}, "outcomeMeasures.0.codes"},
		{"code without a system", map[string]any{"codes": []any{map[string]any{"code": "x"}}}, "outcomeMeasures.0.codes.0"},
		{"same code twice", map[string]any{"codes": []any{map[string]any{"system": "s", "code": "x"}, map[string]any{"system": "s", "code": "x"}}}, "outcomeMeasures.0.codes.1"},
		{"no English name", map[string]any{"title": map[string]any{"de": "x"}}, "outcomeMeasures.0.title"},
		{"no source", map[string]any{"source": nil}, "outcomeMeasures.0.source"},
		{"scale upside down", map[string]any{"minimum": 101}, "outcomeMeasures.0.minimum"},
		{"no direction", map[string]any{"better": nil}, "outcomeMeasures.0.better"},
		{"direction that is none", map[string]any{"better": "sideways"}, "outcomeMeasures.0.better"},
		{"0 to 100 in the unit of 0 to 10", map[string]any{"unit": "{score}"}, "outcomeMeasures.0.unit"},
		{"change larger than the scale", map[string]any{"detectable": map[string]any{"comparison": ">=", "value": 101, "unit": "{points}", "source": "x"}}, "outcomeMeasures.0.detectable.value"},
		{"every change counts", map[string]any{"detectable": map[string]any{"comparison": ">=", "value": 0, "unit": "{points}", "source": "x"}}, "outcomeMeasures.0.detectable.value"},
		{"no detectable change", map[string]any{"detectable": nil}, "outcomeMeasures.0.detectable.comparison"},
		{"important change without a source", map[string]any{"important": map[string]any{"comparison": ">=", "value": 15, "unit": "{points}"}}, "outcomeMeasures.0.important.source"},
		{"gate turned", map[string]any{"gate": map[string]any{"comparison": "<=", "value": 60, "unit": "{points}", "source": "x"}}, "outcomeMeasures.0.gate.comparison"},
		{"gate beyond the scale", map[string]any{"gate": map[string]any{"comparison": ">=", "value": 160, "unit": "{points}", "source": "x"}}, "outcomeMeasures.0.gate.value"},
		{"gate in another unit", map[string]any{"gate": map[string]any{"comparison": ">=", "value": 60, "unit": "%", "source": "x"}}, "outcomeMeasures.0.gate.unit"},
		{"unknown name", map[string]any{"weight": 2}, "outcomeMeasures.0"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var row map[string]any
			if err := json.Unmarshal([]byte(comfort), &row); err != nil {
				t.Fatal(err)
			}
			maps.Copy(row, tt.change)
			maps.DeleteFunc(row, func(_ string, value any) bool { return value == nil })
			text, err := json.Marshal(row)
			if err != nil {
				t.Fatal(err)
			}
			_, err = Load(clinicWith(string(text)))
			problems, _ := errors.AsType[Problems](err)
			for _, p := range problems {
				if p.Path == tt.path {
					return
				}
			}
			t.Errorf("Load = %v, want a problem at %s", err, tt.path)
		})
	}
	if _, err := Load(clinicWith(comfort + "," + comfort)); err == nil {
		t.Error("one measure twice is accepted")
	}
}
