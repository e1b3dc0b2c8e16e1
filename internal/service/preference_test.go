package service

import (
	"net/http"
	"strings"
	"testing"

	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	"github.com/google/go-cmp/cmp"

	evenreachv1 "evenreach.example/api/evenreach/v1"
)

// A caller reads in the language and the unit that it asks for: a parameter goes before the
// header, and the header before the default.
func TestLanguageAndUnitOfAnAnswer(t *testing.T) {
	h := start(t)
	body := text(t, good())
	for _, tt := range []struct {
		name, query, accept, want string
	}{
		{"nothing asked for", "", "", "Not enough is measured"},
		{"header", "", "fr-CA, en;q=0.5", "Les mesures ne suffisent pas"},
		{"the best that there is", "", "tlh, de;q=0.8, en;q=0.2", "Es ist nicht genug gemessen"},
		{"the first of alike", "", "fr, de", "Les mesures ne suffisent pas"},
		{"no language that there is", "", "tlh", "Not enough is measured"},
		{"anything", "", "*", "Not enough is measured"},
		{"parameter before the header", "?language=de", "fr", "Es ist nicht genug gemessen"},
		{"unit", "?forceUnit=kgf", "", "8.2 kgf"},
		{"unit and language", "?forceUnit=lbf&language=fr", "", "18,0\u00a0lbf"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := request(body, "Accept-Language", tt.accept)
			r.URL.RawQuery = strings.TrimPrefix(tt.query, "?")
			w := h.do(r)
			if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), tt.want) {
				t.Errorf("status %d without %q: %.600s", w.Code, tt.want, w.Body)
			}
		})
	}
	for _, query := range []string{"language=tlh", "language=", "forceUnit=stone"} {
		r := request(body)
		r.URL.RawQuery = query
		w := h.do(r)
		if w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), "expected one of") {
			t.Errorf("%s: status %d: %.300s", query, w.Code, w.Body)
		}
	}
}

func TestLanguageInParameters(t *testing.T) {
	h := start(t)
	in := func(language, unit string) string {
		return text(t, parameters(parameter("bundle", "resource", good()), parameter("language", "valueCode", language), parameter("forceUnit", "valueCode", unit)))
	}
	if w := h.do(request(in("fr", "kgf"))); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "8,2\u00a0kgf") {
		t.Errorf("status %d: %.600s", w.Code, w.Body)
	}
	w := h.do(request(in("tlh", "stone")))
	issues := outcomeOf(t, w.Body.Bytes())
	if w.Code != http.StatusBadRequest || len(issues) != 2 || issues[0].Expression[0] != "Parameters.parameter[1].value" || issues[1].Expression[0] != "Parameters.parameter[2].value" {
		t.Errorf("status %d, %+v, want both values refused at their places", w.Code, issues)
	}
}

// What was found is quoted, where there is something to quote.
func TestParametersThatAreRefusedAreQuoted(t *testing.T) {
	w := start(t).do(request(text(t, parameters(parameter("bundle", "resource", good()), parameter("forceUnit", "valueCode", "stone"), parameter("language", "valueInteger", 1)))))
	issues := outcomeOf(t, w.Body.Bytes())
	if w.Code != http.StatusBadRequest || len(issues) != 2 || !strings.HasSuffix(issues[0].Diagnostics, `found "stone"`) || strings.Contains(issues[1].Diagnostics, "found") {
		t.Errorf("status %d, %+v, want the text quoted and the number not", w.Code, issues)
	}
}

func TestLanguageOfCards(t *testing.T) {
	w := startHooks(t).hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(measuredPrefetch())), "Accept-Language", "fr")
	for _, want := range []string{"Rotation externe", "Demander les mesures", "Déjà pris en compte"} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("status %d without %q: %.600s", w.Code, want, w.Body)
		}
	}
}

// The fields of a message come before the metadata of its call, and mean the same as the parameters by REST.
func TestTextsByFields(t *testing.T) {
	h := start(t)
	client := h.dial()
	ctx := metadata.AppendToOutgoingContext(t.Context(), "accept-language", "de", "force-unit", "kgf")
	byGRPC, err := client.Assess(ctx, &evenreachv1.AssessRequest{Bundle: message(t, text(t, good())), Language: "fr", ForceUnit: "lbf", Sheet: evenreachv1.Sheet_SHEET_PATIENT})
	if err != nil {
		t.Fatal(err)
	}
	byREST := h.send("POST", operationPath+"?language=fr&forceUnit=lbf&sheet=patient", text(t, good()))
	if byREST.Code != http.StatusOK {
		t.Fatalf("status %d: %.600s", byREST.Code, byREST.Body)
	}
	if diff := cmp.Diff(message(t, byREST.Body.String()), byGRPC.GetBundle(), protocmp.Transform()); diff != "" {
		t.Errorf("REST and gRPC differ:\n%s", diff)
	}
	if written := byREST.Body.String(); !strings.Contains(written, "Rotation externe") || !strings.Contains(written, "lbf") || !strings.Contains(written, "application/pdf") {
		t.Error("not in French and lbf with a sheet")
	}
}

func TestLanguageByMetadata(t *testing.T) {
	client, message := start(t).dial(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}
	ctx := metadata.AppendToOutgoingContext(t.Context(), "accept-language", "de", "force-unit", "kgf")
	answer, err := client.Assess(ctx, message)
	if err != nil {
		t.Fatal(err)
	}
	if written, err := proto.Marshal(answer); err != nil || !strings.Contains(string(written), "Es ist nicht genug gemessen") || !strings.Contains(string(written), "kgf") {
		t.Errorf("not in German and kgf: %v", err)
	}
	if _, err := client.Assess(metadata.AppendToOutgoingContext(t.Context(), "force-unit", "stone"), message); err == nil {
		t.Error("a unit that is none is accepted")
	}
}
