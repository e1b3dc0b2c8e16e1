package service

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/handon"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/oru"
)

// target takes answers, and fails as often as it is told to.
type target struct {
	mu    sync.Mutex
	fail  []error
	taken []handon.Answer
	slow  chan struct{} // nil, or closed when an answer may be taken
}

func (t *target) Kind() string { return "fhir" }

func (t *target) HandOn(_ context.Context, a handon.Answer) error {
	if t.slow != nil {
		<-t.slow
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.fail) > 0 {
		err := t.fail[0]
		t.fail = t.fail[1:]
		return err
	}
	t.taken = append(t.taken, a)
	return nil
}

// startV2 starts a service that answers messages.
func startV2(t *testing.T, v V2) *harness {
	t.Helper()
	h := start(t)
	h.server.ServeV2(v)
	var err error
	if h.handler, err = h.server.Handler(); err != nil {
		t.Fatal(err)
	}
	return h
}

const messages2 = "../../testdata/messages"

func sample(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(messages2, name, "input.hl7"))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// small is a message that is assessed.
func small(id string) string {
	return strings.Join([]string{
		`MSH|^~\&|A|B|C|D|20260302100000+0100||ORU^R01^ORU_R01|` + id + `|P|2.7`,
		"PID|1||P1^^^H^MR", "OBR|1||F1^LAB|X|||20260302090000+0100",
		"OBX|1|CWE|DX^^99CLN||414033006^^SCT||||||F|||||||||91774008^^SCT",
		"OBX|2|NM|isometric-external-rotation-strength^^99EVR|1.1|80|N|||||F|||||||||91774008^^SCT",
		"OBX|3|NM|isometric-external-rotation-strength^^99EVR|1.2|100|N|||||F|||||||||91775009^^SCT",
		"OBX|4|CWE|arm-position^^99EVR|1|arm-at-side^^99EVR||||||F",
	}, "\r")
}

func postMessage(h *harness, body []byte, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequestWithContext(context.Background(), http.MethodPost, "/v2", bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/hl7-v2")
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	return h.do(r)
}

// parsedReply reads the reply to a message.
func parsedReply(t *testing.T, w *httptest.ResponseRecorder) *hl7v2.Message {
	t.Helper()
	m, err := hl7v2.Parse(w.Body.Bytes())
	if err != nil {
		t.Fatalf("the reply is no message: %v: %.300s", err, w.Body)
	}
	return m
}

func receiptOf(t *testing.T, w *httptest.ResponseRecorder) hl7v2.Receipt {
	t.Helper()
	got, ok := hl7v2.ReadReceipt(parsedReply(t, w))
	if !ok {
		t.Fatalf("the reply is no acknowledgement: %.300s", w.Body)
	}
	return got
}

// The golden files were reviewed: they hold the numbers of the message, and what its README says should
// follow.
func TestSampleMessages(t *testing.T) {
	inputs, err := filepath.Glob(filepath.Join(messages2, "*", "input.hl7"))
	if err != nil || len(inputs) < 3 {
		t.Fatalf("%d messages found, want at least 3 (%v)", len(inputs), err)
	}
	for _, path := range inputs {
		folder := filepath.Dir(path)
		t.Run(filepath.Base(folder), func(t *testing.T) {
			v := V2{Options: oru.Options{Systems: map[string]string{"99OLD": "https://clinic.example/old"}, Zone: time.FixedZone("", 3600)}}
			if data, err := os.ReadFile(filepath.Join(folder, "codemap.json")); err == nil {
				if v.Options.Codes, err = intake.ReadCodeMap(data); err != nil {
					t.Fatal(err)
				}
			}
			h := startV2(t, v)
			h.pipeline().Codes = v.Options.Codes
			w := postMessage(h, sample(t, filepath.Base(folder)))
			if w.Code != http.StatusOK {
				t.Fatalf("status %d: %s", w.Code, w.Body)
			}
			if bytes.Contains(w.Body.Bytes(), []byte("^^"+oru.OwnSystem)) {
				t.Errorf("a code of ours has no name: %s", w.Body)
			}
			golden(t, filepath.Join(folder, "golden.hl7"), bytes.ReplaceAll(w.Body.Bytes(), []byte("\r"), []byte("\n")))
		})
	}
}

func TestResultsComeBackWithoutTarget(t *testing.T) {
	for _, pdf := range []bool{false, true} {
		h := startV2(t, V2{PDF: pdf})
		w := postMessage(h, []byte(small("M1")), "Accept", "x-application/hl7-v2+er7")
		m := parsedReply(t, w)
		if w.Code != http.StatusOK || m.Header().Field(9).Text(1) != "ORU" || w.Header().Get("Content-Type") != "x-application/hl7-v2+er7; charset=utf-8" {
			t.Fatalf("status %d, %s: %.300s", w.Code, w.Header().Get("Content-Type"), w.Body)
		}
		last := m.Segments[len(m.Segments)-1]
		if last.Field(2).Text(1) != "ED" || (last.Field(5).Text(3) == "pdf") != pdf {
			t.Errorf("the last result is %s of %s, want the report as ED", last.Field(2).Text(1), last.Field(5).Text(3))
		}
		if _, err := oru.Read(m, oru.Options{}); err != nil {
			t.Errorf("what is written cannot be read: %v", err)
		}
	}
}

// MSH-18 is that of each message. So an answer is in UTF-8, and says so, whatever its message was in: French has characters
// that 8859/1 and ASCII do not have, and none of them is replaced.
//
// Source: HL7 version 2.9, MSH-18.
func TestAnswersHaveEveryCharacter(t *testing.T) {
	h := startV2(t, V2{})
	for charset, name := range map[string]string{"8859/1": "L\x92H\xe9ritier", "8859/15": "L'H\xe9ritier", "UNICODE UTF-8": "L’Héritier", "ASCII": "L'Heritier"} {
		sent := strings.Replace(strings.Replace(small("M1"), "|2.7", "|2.7||||||"+charset, 1), "^^^H^MR", "^^^H^MR||"+name, 1)
		r := httptest.NewRequestWithContext(t.Context(), "POST", "/v2?language=fr", strings.NewReader(sent))
		r.Header.Set("Content-Type", "application/hl7-v2")
		w := h.do(r)
		m := parsedReply(t, w)
		if w.Code != http.StatusOK || m.Charset.Name != "UNICODE UTF-8" || !m.Stated || !utf8.Valid(w.Body.Bytes()) {
			t.Errorf("%s: status %d, in %s: %.300s", charset, w.Code, m.Charset.Name, w.Body)
		}
		for _, bad := range []string{"\ufffd", "d?a", "l?é"} {
			if strings.Contains(w.Body.String(), bad) {
				t.Errorf("%s: found %q, a character that was lost", charset, bad)
			}
		}
		for _, s := range m.Segments {
			if s.Name == "PID" && !strings.HasPrefix(s.Field(5).Text(1), "L") || s.Name == "OBX" && s.Number == 1 && !strings.Contains(s.Field(5).Text(1), "’") {
				t.Errorf("%s: %s reads %q", charset, s.Place(), s.Field(5).Text(1))
			}
		}
	}
}

func TestNegotiationOfMessages(t *testing.T) {
	h := startV2(t, V2{})
	tests := []struct {
		name    string
		headers []string
		method  string
		query   string
		status  int
	}{
		{"as it should be", nil, "POST", "", 200},
		{"the other media type", []string{"Content-Type", "x-application/hl7-v2+er7; charset=utf-8"}, "POST", "", 200},
		{"any reply", []string{"Accept", "*/*"}, "POST", "", 200},
		{"JSON sent", []string{"Content-Type", "application/json"}, "POST", "", 415},
		{"JSON asked for", []string{"Accept", "application/json"}, "POST", "", 406},
		{"another method", nil, "GET", "", 405},
		{"parameters", nil, "POST", "?involvedSide=left&asOf=2026-03-08", 200},
		{"a bad parameter", nil, "POST", "?involvedSide=up", 400},
		{"an unknown parameter", nil, "POST", "?output=collection", 400},
		{"an unknown protocol", nil, "POST", "?protocol=none", 422},
		{"an encoding that is not read", []string{"Content-Encoding", "br"}, "POST", "", 415},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := httptest.NewRequestWithContext(t.Context(), tt.method, "/v2"+tt.query, strings.NewReader(small("M1")))
			r.Header.Set("Content-Type", "application/hl7-v2")
			for i := 0; i+1 < len(tt.headers); i += 2 {
				r.Header.Set(tt.headers[i], tt.headers[i+1])
			}
			w := h.do(r)
			if w.Code != tt.status {
				t.Errorf("status %d, want %d: %.300s", w.Code, tt.status, w.Body)
			}
			// RFC 9110, 15.5.6: what is allowed stands in the answer 405.
			if allow := w.Header().Get("Allow"); (allow == http.MethodPost) != (tt.status == 405) {
				t.Errorf("status %d with Allow %q", w.Code, allow)
			}
		})
	}
	if w := start(t).do(httptest.NewRequestWithContext(t.Context(), "POST", "/v2", strings.NewReader(small("M1")))); w.Code != 404 {
		t.Errorf("status %d where messages are not answered, want 404", w.Code)
	}
}

// HL7 version 2.9, section 2.9.2.2: AE for what is wrong with the message, AR for a kind that is not
// processed and for what may pass.
func TestRefusedMessageIsAcknowledged(t *testing.T) {
	tests := []struct {
		name, from, to string
		fail           error
		want           hl7v2.Receipt
		status         int
	}{
		{"accepted", "", "", nil, hl7v2.Receipt{Code: "AA", ID: "M1"}, 200},
		{"nothing to assess", "OBX|2", "ZBX|2", nil, hl7v2.Receipt{Code: "AE", ID: "M1"}, 422},
		{"another kind of message", "ORU^R01^ORU_R01", "ADT^A01", nil, hl7v2.Receipt{Code: "AR", ID: "M1"}, 400},
		{"no message", "MSH", "XXX", nil, hl7v2.Receipt{Code: "AE"}, 400},
		{"the target is away", "", "", errors.New("away"), hl7v2.Receipt{Code: "AR", ID: "M1"}, 503},
		{"the target refuses", "", "", handon.ErrRefused, hl7v2.Receipt{Code: "AE", ID: "M1"}, 422},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			to := &target{}
			if tt.fail != nil {
				to.fail = []error{tt.fail}
			}
			body := strings.Replace(small("M1"), tt.from, tt.to, 1)
			if tt.name == "nothing to assess" {
				body = strings.ReplaceAll(strings.ReplaceAll(body, "OBX|2", "ZBX|2"), "OBX|3", "ZBX|3")
			}
			w := postMessage(startV2(t, V2{Target: to}), []byte(body))
			if got := receiptOf(t, w); got != tt.want || w.Code != tt.status {
				t.Errorf("found %v with status %d, want %v with %d: %s", got, w.Code, tt.want, tt.status, w.Body)
			}
			if again := w.Header().Get("Retry-After") != ""; again != (tt.status == 503) {
				t.Errorf("status %d with Retry-After: %v, want it with 503", w.Code, again)
			}
			if accepted := tt.want.Code == "AA"; accepted != (len(to.taken) == 1) {
				t.Errorf("%d answers were handed on", len(to.taken))
			}
		})
	}
}

func TestRepeatedMessageIsAnsweredAlike(t *testing.T) {
	to := &target{fail: []error{errors.New("away")}}
	h := startV2(t, V2{Target: to})
	if got := receiptOf(t, postMessage(h, []byte(small("M1")))); got.Code != hl7v2.Rejected {
		t.Fatalf("found %v while the target is away, want AR", got)
	}
	first := postMessage(h, []byte(small("M1")))
	again := postMessage(h, []byte(small("M1")))
	if receiptOf(t, first).Code != hl7v2.Accepted || !bytes.Equal(first.Body.Bytes(), again.Body.Bytes()) {
		t.Errorf("the repeated message is answered by\n%s\nand before by\n%s", again.Body, first.Body)
	}
	if len(to.taken) != 1 {
		t.Errorf("%d answers were handed on, want one", len(to.taken))
	}
	other := postMessage(h, []byte(strings.Replace(small("M1"), "|80|", "|90|", 1)))
	if got := receiptOf(t, other); got.Code != hl7v2.Failed || len(to.taken) != 1 {
		t.Errorf("another message under the same control id is answered by %v", got)
	}
}

func TestTwoCopiesAtATimeAreHandedOnOnce(t *testing.T) {
	to := &target{slow: make(chan struct{})}
	h := startV2(t, V2{Target: to})
	var group sync.WaitGroup
	for range 6 {
		group.Go(func() {
			if got := receiptOf(t, postMessage(h, []byte(small("M1")))); got.Code != hl7v2.Accepted {
				t.Errorf("found %v", got)
			}
		})
	}
	close(to.slow)
	group.Wait()
	if len(to.taken) != 1 {
		t.Errorf("%d answers were handed on, want one", len(to.taken))
	}
}

// A record must find the patient, so the transaction names the patient by a search.
func TestTransactionNamesThePatientBySearch(t *testing.T) {
	to := &target{}
	postMessage(startV2(t, V2{Target: to}), []byte(small("M1")))
	text := string(to.taken[0].Transaction())
	if !strings.Contains(text, `"reference":"Patient?identifier=urn%3Aid%3AH%7CP1"`) || !strings.Contains(text, `"ifNoneExist"`) {
		t.Errorf("the transaction is %.1000s", text)
	}
	if again := to.taken[0].Results(); !bytes.Contains(again, []byte("ORU^R01")) {
		t.Errorf("the results are %.300s", again)
	}
}

func TestMessagesLeaveNoPatientDataBehind(t *testing.T) {
	h := startV2(t, V2{Target: &target{}})
	body := strings.Replace(small("CANARY1"), "P1^^^H^MR", "CANARY2^^^H^MR||CANARY3^CANARY4", 1)
	for _, text := range []string{body, strings.Replace(body, "|N|", "|CANARY5|", 1), strings.Replace(body, "MSH|", "CANARY6", 1)} {
		postMessage(h, []byte(text))
		h.server.handleMLLP(t.Context(), []byte(text+"\rNTE|CANARY7"))
	}
	if found := h.log.String(); strings.Contains(found, "CANARY") {
		t.Errorf("the log holds what was sent: %s", found)
	}
}

func FuzzMessage(f *testing.F) {
	f.Add([]byte(small("M1")))
	f.Add(sample(f, "trials-repeat"))
	f.Add(sample(f, "each-trial-in-latin-1"))
	f.Add([]byte("MSH|^~\\&|"))
	pipeline := testPipeline()
	server := New(pipeline, ops.NewWatch(ops.NewMetrics(prometheus.NewRegistry(), "test", pipeline.Protocols), ops.NewLogger(io.Discard, slog.LevelError)), auth.Anyone{}, Config{MaxConcurrent: 8})
	server.ServeV2(V2{})
	f.Fuzz(func(t *testing.T, data []byte) {
		reply, err := server.message(t.Context(), data, Request{})
		if err != nil && edge[refusalOf(err).Kind()].http >= 500 {
			t.Fatalf("found %v, want an answer or the sender's fault", err)
		}
		if _, err := hl7v2.Parse(reply); err != nil {
			t.Fatalf("the reply is no message: %v: %.300q", err, reply)
		}
	})
}
