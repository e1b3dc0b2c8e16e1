package service

import (
	"encoding/json"
	"net/http"
	"os"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/report"
	"evenreach.example/internal/wording"
)

const questionnaireURL = "https://evenreach.example/fhir/Questionnaire/evenreach-default-recheck"

func answeredItem(link string, answers ...object) object {
	all := make([]any, len(answers))
	for i := range answers {
		all[i] = answers[i]
	}
	return object{"linkId": link, "answer": all}
}

func newtonsAnswer(value float64) object {
	return object{"valueQuantity": object{"value": value, "system": "http://unitsofmeasure.org", "code": "N"}}
}

func codeAnswer(code string) object {
	return object{"valueCoding": object{"system": "https://evenreach.example/fhir/CodeSystem/shoulder", "code": code}}
}

// responseOf is a response with the items.
func responseOf(items ...any) object {
	return object{
		"resourceType": "QuestionnaireResponse", "id": "q1", "questionnaire": questionnaireURL + "|2.0.0", "status": "completed", "authored": "2026-03-02T09:00:00Z",
		"subject": object{"reference": "Patient/p1"}, "author": object{"reference": "Practitioner/t1"}, "item": items,
	}
}

// measuredResponse says what good sends.
func measuredResponse() object {
	return responseOf(
		object{"linkId": "visit", "item": []any{answeredItem("involved-side", codeAnswer("right")), answeredItem("contraction-type", codeAnswer("make")), answeredItem("strength-method", codeAnswer("handheld-dynamometry"))}},
		object{"linkId": "strength", "item": []any{
			answeredItem("strength.external.arm-at-side.right", newtonsAnswer(80), newtonsAnswer(78)),
			answeredItem("strength.external.arm-at-side.left", newtonsAnswer(100)),
		}},
		answeredItem("range.flexion.right", object{"valueDecimal": 150}),
		answeredItem("pain.at-rest", object{"valueInteger": 2}),
	)
}

// A response alone, in Parameters or in a Bundle is assessed as the Observations that extract makes of it.
func TestResponseIsAssessed(t *testing.T) {
	h := start(t)
	extracted := h.send("POST", "/fhir/QuestionnaireResponse/$extract", text(t, measuredResponse()))
	var answer struct {
		Parameter []struct {
			Name     string
			Resource json.RawMessage
		}
	}
	if err := json.Unmarshal(extracted.Body.Bytes(), &answer); err != nil || extracted.Code != 200 || len(answer.Parameter) != 1 || answer.Parameter[0].Name != "return" {
		t.Fatalf("status %d: %v: %.600s", extracted.Code, err, extracted.Body)
	}
	want := conclusion(t, h.send("POST", operationPath+"?involvedSide=right", string(answer.Parameter[0].Resource)).Body.Bytes())
	for name, body := range map[string]string{
		"alone":          text(t, measuredResponse()),
		"in a Bundle":    text(t, bundle(patient("p1"), measuredResponse())),
		"as a parameter": text(t, parameters(object{"name": "bundle", "resource": bundle(measuredResponse())}, parameter("output", "valueCode", "collection"))),
	} {
		w := h.do(request(body))
		if w.Code != 200 {
			t.Errorf("%s: status %d: %.600s", name, w.Code, w.Body)
			continue
		}
		if got := conclusion(t, w.Body.Bytes()); got != want {
			t.Errorf("%s it is %q, extracted %q", name, got, want)
		}
	}
}

// Source: the request: each value, unit, side and time as it was answered.
func TestExtract(t *testing.T) {
	w := start(t).send("POST", "/fhir/QuestionnaireResponse/$extract", text(t, parameters(object{"name": "questionnaire-response", "resource": measuredResponse()})))
	resource, err := fhirjson.Decode(w.Body.Bytes(), fhir.DefaultLimits)
	if err != nil || w.Code != 200 {
		t.Fatalf("status %d: %v: %.600s", w.Code, err, w.Body)
	}
	b := resource.(*fhir.Parameters).Parameter[0].Resource.(*fhir.Bundle)
	if len(b.Entry) != 4 || b.BundleType != "transaction" {
		t.Fatalf("%d Observations in a %s, want 4 in a transaction", len(b.Entry), b.BundleType)
	}
	o := b.Entry[0].Resource.(*fhir.Observation)
	request := b.Entry[0].Request
	if request.Method != http.MethodPost || !strings.HasPrefix(request.IfNoneExist, "identifier=https://evenreach.example/fhir/sid/answer|") {
		t.Errorf("the request is %+v", request)
	}
	if o.Status != "final" || o.Effective != fhir.DateTime("2026-03-02T09:00:00Z") || o.Subject.Reference != "Patient/p1" || o.Performer[0].Reference != "Practitioner/t1" ||
		o.BodySite.Coding[0].Code != fhir.SNOMEDRightShoulder || o.Method.Coding[0].Code != "handheld-dynamometry" || o.DerivedFrom[0].Reference != "QuestionnaireResponse/q1" {
		t.Errorf("the Observation is %+v", o)
	}
	var trials []string
	for _, c := range o.Component {
		if q, ok := c.Value.(*fhir.Quantity); ok {
			trials = append(trials, string(q.Value)+" "+q.Code)
		}
	}
	if !slices.Equal(trials, []string{"80 N", "78 N"}) {
		t.Errorf("the trials are %v", trials)
	}
}

// What is wrong with an answer drops it, with its place; what is wrong with a response drops that.
func TestAnswersLeftOut(t *testing.T) {
	h := start(t)
	for name, c := range map[string]struct {
		response object
		kind     string
		place    string
	}{
		"a text as strength":      {responseOf(answeredItem("strength.external.arm-at-side.right", object{"valueString": "80"})), "value-kind", "QuestionnaireResponse.item[0].answer[0]"},
		"a number without a unit": {responseOf(answeredItem("strength.external.arm-at-side.right", object{"valueDecimal": 80})), "value-kind", "QuestionnaireResponse.item[0].answer[0]"},
		"another code":            {responseOf(answeredItem("involved-side", codeAnswer("middle"))), "code-unknown", "QuestionnaireResponse.item[0]"},
		"two pain scores":         {responseOf(answeredItem("pain.at-rest", object{"valueInteger": 1}, object{"valueInteger": 2})), "duplicate", "QuestionnaireResponse.item[0]"},
		"a link id twice":         {responseOf(answeredItem("pain.at-rest", object{"valueInteger": 1}), answeredItem("pain.at-rest", object{"valueInteger": 2})), "duplicate", "QuestionnaireResponse.item[1]"},
		"an unknown link id":      {responseOf(answeredItem("mood", object{"valueInteger": 1})), "not-read", "QuestionnaireResponse.item[0]"},
	} {
		w := h.send("POST", "/fhir/QuestionnaireResponse/$extract", text(t, c.response))
		var answer struct {
			Parameter []struct {
				Name     string
				Resource struct{ Issue []issue }
			}
		}
		if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil || w.Code != 200 || len(answer.Parameter) != 2 {
			t.Errorf("%s: status %d: %.600s", name, w.Code, w.Body)
			continue
		}
		got := answer.Parameter[1].Resource.Issue[0]
		if got.kind() != c.kind || got.Expression[0] != c.place {
			t.Errorf("%s: %s at %v, want %s at %s", name, got.kind(), got.Expression, c.kind, c.place)
		}
	}
	for name, c := range map[string]struct {
		response object
		status   int
	}{
		"in progress":           {made(measuredResponse(), []change{put("status", "in-progress")}), 422},
		"without a time":        {without(measuredResponse(), "authored"), 422},
		"another questionnaire": {made(measuredResponse(), []change{put("questionnaire", "urn:x")}), 422},
		"another resource":      {patient("p1"), 400},
		"no response":           {parameters(parameter("x", "valueString", "y")), 400},
		"by another name":       {parameters(object{"name": "response", "resource": measuredResponse()}), 400},
		"another of the name":   {parameters(object{"name": "questionnaire-response", "resource": patient("p1")}), 400},
	} {
		if w := h.send("POST", "/fhir/QuestionnaireResponse/$extract", text(t, c.response)); w.Code != c.status {
			t.Errorf("%s: status %d, want %d: %.300s", name, w.Code, c.status, w.Body)
		}
	}
	// What the assessment refuses of an answer is said at its place in the response, in whatever entry that is.
	tooStrong := responseOf(answeredItem("strength.external.arm-at-side.right", newtonsAnswer(900)), answeredItem("strength.external.arm-at-side.left", newtonsAnswer(100)))
	for place, body := range map[string]object{
		"QuestionnaireResponse.item[0]":    tooStrong,
		"Bundle.entry[3].resource.item[0]": bundle(patient("p1"), condition(), measuredResponse(), made(tooStrong, []change{put("id", "q2")})),
	} {
		w := h.do(withQuery(request(text(t, body)), "output=check&involvedSide=right"))
		if !slices.ContainsFunc(outcomeOf(t, w.Body.Bytes()), func(i issue) bool {
			return i.kind() == "implausible-value" && slices.Equal(i.Expression, []string{place})
		}) {
			t.Errorf("nothing is said at %s: %.900s", place, w.Body)
		}
	}
	w := h.do(request(text(t, made(measuredResponse(), []change{put("status", "in-progress")}))))
	if w.Code != 422 || !strings.Contains(w.Body.String(), `"QuestionnaireResponse.status"`) {
		t.Errorf("a response in progress is assessed, or it is not said why not: status %d: %.600s", w.Code, w.Body)
	}
}

// Each item of the published Questionnaire is one that is read, and each that is read is there.
func TestQuestionnaireIsWhatIsRead(t *testing.T) {
	w := start(t).send("GET", "/fhir/Questionnaire/evenreach-default-recheck", "")
	var q struct {
		Contained []struct{ ID string }
		Item      []struct {
			Item []struct {
				LinkID, Type string
				Extension    []struct {
					Extension []struct{ ValueReference struct{ Reference string } }
				}
				AnswerOption []struct{ ValueCoding struct{ Code string } }
			}
		}
	}
	if err := json.Unmarshal(w.Body.Bytes(), &q); err != nil || w.Code != 200 {
		t.Fatalf("status %d: %v", w.Code, err)
	}
	var items []any
	templates := map[string]bool{}
	for _, c := range q.Contained {
		templates["#"+c.ID] = true
	}
	for _, g := range q.Item {
		for _, i := range g.Item {
			switch i.Type {
			case "quantity":
				items = append(items, answeredItem(i.LinkID, newtonsAnswer(50)))
			case "decimal":
				items = append(items, answeredItem(i.LinkID, object{"valueDecimal": 5}))
			case "choice":
				items = append(items, answeredItem(i.LinkID, codeAnswer(i.AnswerOption[0].ValueCoding.Code)))
				continue
			}
			if at := i.Extension[0].Extension[0].ValueReference.Reference; !templates[at] {
				t.Errorf("%s has no template %s", i.LinkID, at)
			}
			delete(templates, i.Extension[0].Extension[0].ValueReference.Reference)
		}
	}
	if len(templates) > 0 || len(items) < 20 {
		t.Errorf("%d items; templates that nothing uses: %v", len(items), templates)
	}
	h := start(t)
	answer := h.send("POST", "/fhir/QuestionnaireResponse/$extract", text(t, responseOf(items...)))
	if answer.Code != 200 || strings.Contains(answer.Body.String(), `"issues"`) {
		t.Errorf("status %d: %.900s", answer.Code, answer.Body)
	}
	if w := h.do(request(text(t, responseOf(items...)))); w.Code != 200 {
		t.Errorf("all answers: status %d: %.600s", w.Code, w.Body)
	}
}

func TestApply(t *testing.T) {
	record := measuredIn(t, "p1")
	h := start(t)
	h.asking(record)
	const canonical = "https://evenreach.example/fhir/PlanDefinition/evenreach-default"
	subject, plan, data := parameter("subject", "valueString", "Patient/p1"), parameter("planDefinition", "valueCanonical", canonical), object{"name": "data", "resource": good()}
	for name, c := range map[string]struct {
		path string
		body object
	}{
		"of the type, of what is sent":     {"/fhir/PlanDefinition/$apply", parameters(subject, plan, data)},
		"of an instance":                   {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject, data, parameter("encounter", "valueString", "Encounter/e1"), parameter("setting", "valueString", "x"))},
		"of the record":                    {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject)},
		"of the type, of the record":       {"/fhir/PlanDefinition/$apply", parameters(subject, plan)},
		"with the side and practitioner":   {"/fhir/PlanDefinition/$apply", parameters(subject, plan, data, parameter("involvedSide", "valueCode", "right"), parameter("practitioner", "valueString", "Practitioner/1"))},
		"with a subject as a reference":    {"/fhir/PlanDefinition/$apply", parameters(object{"name": "subject", "valueReference": object{"reference": "Patient/p1"}}, plan, data)},
		"with the version of the protocol": {"/fhir/PlanDefinition/$apply", parameters(subject, parameter("planDefinition", "valueCanonical", canonical+"|"+h.pipeline().Protocols[0].Version), data)},
	} {
		w := h.send("POST", c.path, text(t, c.body))
		var got struct {
			ResourceType, Status, Intent string
			Contained                    []struct {
				ResourceType, ID, Intent string
				Action                   []struct {
					Title    string
					Resource struct{ Reference string }
				}
			}
			Activity []struct {
				Reference struct{ Reference string }
				Detail    any
			}
			Goal []struct{ Reference string }
		}
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || w.Code != 200 {
			t.Errorf("%s: status %d: %.600s", name, w.Code, w.Body)
			continue
		}
		// Source: FHIR R4, apply: a CarePlan with a single activity, which is represented by a RequestGroup.
		if got.ResourceType != "CarePlan" || got.Status != "draft" || got.Intent != "proposal" || len(got.Activity) != 1 || got.Activity[0].Detail != nil || len(got.Goal) == 0 {
			t.Errorf("%s: %+v", name, got)
		}
		contained := map[string]string{}
		actions := 0
		for _, r := range got.Contained {
			contained["#"+r.ID] = r.ResourceType
		}
		for _, r := range got.Contained {
			for _, a := range r.Action {
				actions++
				if contained[a.Resource.Reference] != "ServiceRequest" || a.Title == "" {
					t.Errorf("%s: the action is %+v", name, a)
				}
			}
		}
		if contained[got.Activity[0].Reference.Reference] != "RequestGroup" || actions == 0 || strings.Contains(w.Body.String(), "urn:uuid") {
			at := max(strings.Index(w.Body.String(), "urn:uuid"), 200)
			t.Errorf("%s: %d actions, contained are %v: %s", name, actions, contained, w.Body.String()[at-200:at+50])
		}
		if _, err := fhirjson.Decode(w.Body.Bytes(), fhir.DefaultLimits); err != nil {
			t.Errorf("%s: no FHIR: %v", name, err)
		}
	}
	if n := record.Asked("POST "); n > 0 {
		t.Error("something was stored")
	}
	for pattern, calls := range map[string]string{"/fhir/PlanDefinition/$apply": "5", "/fhir/PlanDefinition/{id}/$apply": "2"} {
		if !strings.Contains(h.scrape(), `evenreach_http_requests_total{code="200",method="POST",operation="`+pattern+`"} `+calls+"\n") {
			t.Errorf("%s calls of %s are not counted", calls, pattern)
		}
	}
}

// Data are the subject's if one of the resources is, or is about it, by its id or its address in the Bundle.
func TestDataOfASubject(t *testing.T) {
	const urn = "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11"
	p1 := &fhir.Patient{}
	p1.ID = "p1"
	of := func(url string, r fhir.Resource) *fhir.Bundle {
		return &fhir.Bundle{Entry: []fhir.Entry{{Resource: &fhir.Other{TypeName: "Device", ID: "p1"}}, {FullURL: url, Resource: r}}}
	}
	test := &fhir.Observation{Subject: &fhir.Reference{Reference: "Patient/p1"}}
	for name, c := range map[string]struct {
		of      *fhir.Bundle
		subject string
		want    bool
	}{
		"the Patient":                {of("", p1), "Patient/p1", true},
		"the Patient, by address":    {of(urn, p1), urn, true},
		"a measurement":              {of("", test), "Patient/p1", true},
		"a measurement in a Bundle":  {of("", of("", test)), "Patient/p1", true},
		"another Patient":            {of(urn, p1), "Patient/p2", false},
		"another type of that id":    {of("", p1), "Group/p1", false},
		"a measurement of another":   {of("", test), "Patient/p2", false},
		"something that is not read": {of(urn, &fhir.Other{TypeName: "Patient", ID: "p2"}), urn, false},
	} {
		if got := isAbout(c.of, c.subject); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

func TestApplyRefused(t *testing.T) {
	h := start(t)
	subject, data := parameter("subject", "valueString", "Patient/p1"), object{"name": "data", "resource": good()}
	for name, c := range map[string]struct {
		path   string
		body   object
		status int
		kind   string
	}{
		"no subject":              {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(data), 400, "required-missing"},
		"two subjects":            {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject, subject, data), 400, "bad-parameter"},
		"no plan":                 {"/fhir/PlanDefinition/$apply", parameters(subject, data), 400, "required-missing"},
		"another plan":            {"/fhir/PlanDefinition/other/$apply", parameters(subject, data), 422, "unknown-protocol"},
		"another patient's data":  {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(parameter("subject", "valueString", "Patient/p9"), data), 422, "patient-other"},
		"no data and no record":   {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject), 400, "required-missing"},
		"an unknown parameter":    {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject, data, parameter("x", "valueString", "y")), 400, "bad-parameter"},
		"no Parameters":           {"/fhir/PlanDefinition/evenreach-default/$apply", good(), 400, "wrong-resource"},
		"data without a test":     {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject, object{"name": "data", "resource": bundle(patient("p1"), condition())}), 422, "nothing-to-assess"},
		"a plan beside the other": {"/fhir/PlanDefinition/evenreach-default/$apply", parameters(subject, data, parameter("planDefinition", "valueUri", "urn:x")), 400, "bad-parameter"},
	} {
		w := h.send("POST", c.path, text(t, c.body))
		issues := outcomeOf(t, w.Body.Bytes())
		if w.Code != c.status || issues[0].kind() != c.kind {
			t.Errorf("%s: status %d, want %d %s: %.600s", name, w.Code, c.status, c.kind, w.Body)
		}
		if name == "data without a test" && !slices.Equal(issues[0].Expression, []string{"Parameters.parameter[1].resource"}) {
			t.Errorf("%s: at %q, want the parameter data", name, issues[0].Expression)
		}
	}
}

// The golden file was reviewed: it holds the numbers of the response, and what its README says should follow.
func TestFilledInRecheck(t *testing.T) {
	const folder = "../../testdata/questionnaire/"
	body, err := os.ReadFile(folder + "response.json")
	if err != nil {
		t.Fatal(err)
	}
	q, err := Decode(body)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := testPipeline().Run(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	got := report.Text(answer.Assessment, answer.Issues, wording.For("en"))
	if *update {
		if err := os.WriteFile(folder+"golden.txt", []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(folder + "golden.txt")
	if err != nil || string(want) != got {
		t.Errorf("the report differs from golden.txt (%v): run with -update and review:\n%s", err, got)
	}
}

// Source: FHIR R4B 4.3.0 and R5: the parameter fhirVersion of the media type names the version.
func TestVersionsOfFHIR(t *testing.T) {
	h := start(t)
	for version, want := range map[string]int{"4.0": 200, "4.3": 200, "4.3.0": 200, "5.0": 415, "3.0": 415, "6.0": 415} {
		w := h.do(request(text(t, good()), "Content-Type", "application/fhir+json; fhirVersion="+version))
		if w.Code != want {
			t.Errorf("%s: status %d, want %d", version, w.Code, want)
		}
	}
	if w := h.do(request(text(t, good()), "Content-Type", "application/fhir+json; fhirVersion=5.0")); !strings.Contains(w.Body.String(), "it says FHIR R5") {
		t.Errorf("the version is not named: %s", w.Body)
	}
	r5 := object{"resourceType": "Encounter", "id": "e1", "status": "completed", "actualPeriod": object{"start": "2026-03-02"}, "subject": object{"reference": "Patient/p1"}}
	if w := h.do(request(text(t, good(r5)))); w.Code != 200 || !strings.Contains(w.Body.String(), "FHIR R5 has it") {
		t.Errorf("an Encounter of R5: status %d: %.600s", w.Code, w.Body)
	}
}

// The identifier of an extracted Observation tells patients apart, and responses that name none.
func TestIdentifiersOfAnswers(t *testing.T) {
	id := func(changes ...change) string {
		w := start(t).send("POST", "/fhir/QuestionnaireResponse/$extract", text(t, made(measuredResponse(), changes)))
		_, rest, found := strings.Cut(w.Body.String(), "identifier=https://evenreach.example/fhir/sid/answer|")
		if !found || len(rest) < 36 {
			t.Fatalf("status %d: %.600s", w.Code, w.Body)
		}
		return rest[:36]
	}
	of := func(reference string) change { return put("subject", object{"reference": reference}) }
	nobody := func(o object) { delete(o, "subject") }
	one := id()
	if again := id(of("Patient/p1")); again != one {
		t.Errorf("the same response is %s and %s", one, again)
	}
	if id(of("Patient/p2")) == one || id(nobody) == one {
		t.Error("responses of two patients have one identifier")
	}
}
