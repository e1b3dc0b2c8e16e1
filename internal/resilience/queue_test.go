//go:build resilience

package resilience

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	notified   = flag.Int("notifications", 1_000, "notifications that are sent: six of ten about one patient each, the others in bursts of ten")
	queueKills = flag.Int("queue-kills", 50, "kills of the process while notifications are sent")
)

// burst is how many notifications come of one patient in a row.
const burst = 10

// changingRecord is a FHIR server whose patients change. It knows which of the changes were in what a patient's
// assessment was made of, because the answer names the measurement.
type changingRecord struct {
	mu       sync.Mutex
	changes  []int // of each patient
	assessed []int // the last change that an answer rests on
	answers  []int
}

func newChangingRecord(patients int) *changingRecord {
	return &changingRecord{changes: make([]int, patients), assessed: make([]int, patients), answers: make([]int, patients)}
}

// change gives a patient a new measurement, which takes the place of the last one, and returns its number.
func (r *changingRecord) change(patient int) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.changes[patient]++
	return r.changes[patient]
}

var measuredIn = regexp.MustCompile(`Observation/p(\d+)-involved-(\d+)`)

func (r *changingRecord) ServeHTTP(w http.ResponseWriter, request *http.Request) {
	body, err := io.ReadAll(request.Body)
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	w.Header().Set("Content-Type", "application/fhir+json")
	r.mu.Lock()
	defer r.mu.Unlock()
	if kind, search := strings.CutSuffix(strings.TrimPrefix(request.URL.Path, "/"), "/_search"); search {
		_, _ = io.WriteString(w, r.found(kind, string(body)))
		return
	}
	for _, m := range measuredIn.FindAllSubmatch(body, -1) {
		patient, change := number(m[1]), number(m[2])
		r.assessed[patient] = max(r.assessed[patient], change)
		r.answers[patient]++
		break
	}
	_, _ = io.WriteString(w, `{"resourceType":"Bundle","type":"transaction-response"}`)
}

// number reads digits.
func number(digits []byte) int {
	n, err := strconv.Atoi(string(digits))
	if err != nil {
		panic(err)
	}
	return n
}

var patientAsked = regexp.MustCompile(`(?:patient|_id)=p(\d+)`)

// found is what a search finds.
func (r *changingRecord) found(kind, form string) string {
	m := patientAsked.FindStringSubmatch(form)
	if m == nil {
		return `{"resourceType":"Bundle","type":"searchset"}`
	}
	patient := number([]byte(m[1]))
	var found []string
	switch {
	case kind == "Patient":
		found = []string{fmt.Sprintf(`{"resourceType":"Patient","id":"p%d"}`, patient)}
	case kind == "Condition":
		found = []string{fmt.Sprintf(`{"resourceType":"Condition","id":"p%d-cuff","code":{"coding":[{"system":"http://snomed.info/sct","code":"414033006"}]},"bodySite":[{"coding":[{"system":"http://snomed.info/sct","code":"91774008"}]}],"subject":{"reference":"Patient/p%d"}}`, patient, patient)}
	case kind == "Observation" && strings.Contains(form, "code="):
		found = []string{strengthOf(patient, "involved", r.changes[patient], "91774008"), strengthOf(patient, "other", r.changes[patient], "91775009")}
	}
	for i := range found {
		found[i] = `{"resource":` + found[i] + `}`
	}
	if len(found) == 0 {
		return `{"resourceType":"Bundle","type":"searchset"}`
	}
	return `{"resourceType":"Bundle","type":"searchset","entry":[` + strings.Join(found, ",") + `]}`
}

// strengthOf is the measurement of one side at a change.
func strengthOf(patient int, side string, change int, site string) string {
	const own = "https://evenreach.example/fhir/CodeSystem/shoulder"
	concept := func(system, code string) string {
		return `{"coding":[{"system":"` + system + `","code":"` + code + `"}]}`
	}
	return fmt.Sprintf(`{"resourceType":"Observation","id":"p%d-%s-%d","status":"final","code":%s,"subject":{"reference":"Patient/p%d"},"effectiveDateTime":"2026-03-02T09:00:00+01:00","bodySite":%s,"valueQuantity":{"value":%d,"unit":"N","system":"http://unitsofmeasure.org","code":"N"},"component":[{"code":%s,"valueCodeableConcept":%s}]}`,
		patient, side, change, concept(own, "isometric-external-rotation-strength"), patient, concept("http://snomed.info/sct", site), 60+change, concept(own, "arm-position"), concept(own, "arm-at-side"))
}

// notifier sends notifications, each until it is acknowledged.
type notifier struct {
	t       *testing.T
	record  *changingRecord
	address string
	client  *http.Client
	again   atomic.Int64
}

// notify changes a patient and notifies of it. When it returns, an assessment is owed.
func (n *notifier) notify(patient int) {
	body := strengthOf(patient, "involved", n.record.change(patient), "91774008")
	for !n.try(body) {
		n.again.Add(1)
		time.Sleep(5 * time.Millisecond)
	}
}

func (n *notifier) try(body string) bool {
	request, err := http.NewRequestWithContext(context.Background(), http.MethodPut, n.address, strings.NewReader(body))
	if err != nil {
		n.t.Error(err)
		return true
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	answer, err := n.client.Do(request)
	if err != nil {
		return false
	}
	defer answer.Body.Close()
	_, err = io.Copy(io.Discard, answer.Body)
	return err == nil && answer.StatusCode == http.StatusOK
}

// What was acknowledged is done, whenever the process is killed: each notification that was answered leads to an
// assessment of its patient that knows what it was about. Bursts lead to few.
func TestKilledWhileNotificationsCome(t *testing.T) {
	singles, bursts := *notified*6/10, *notified*4/10/burst
	record := newChangingRecord(singles + bursts)
	server := httptest.NewServer(record)
	t.Cleanup(server.Close)
	folder := filepath.Join(t.TempDir(), "queue")
	r := run(t, "--record-base="+server.URL, "--queue-folder="+folder, "--notification-quiet=100ms")

	// Turns are the patients in the order in which they are notified of: a burst among the single ones.
	var turns []int
	for patient := range singles + bursts {
		turns = append(turns, patient)
	}
	rand.Shuffle(len(turns), func(i, j int) { turns[i], turns[j] = turns[j], turns[i] })
	n := &notifier{t: t, record: record, address: "http://" + r.HTTP + "/notifications/Observation/x", client: &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}}
	var next, kills atomic.Int64
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			for i := int(next.Add(1)); i <= len(turns); i = int(next.Add(1)) {
				for int(kills.Load()+1)*len(turns) < i**queueKills { // so that they last until the last kill
					time.Sleep(time.Millisecond)
				}
				for range turnsOf(turns[i-1], singles) {
					n.notify(turns[i-1])
				}
			}
		})
	}
	for range *queueKills {
		time.Sleep(time.Duration(rand.IntN(600)) * time.Millisecond)
		r.kill()
		r.start()
		kills.Add(1)
	}
	before := record.assessments()
	group.Wait()
	r.ready()
	eventually(t, "the queue is empty", func() bool { return len(queued(t, folder)) == 0 })
	r.terminate()
	r.noDefects()
	record.check(t, singles)
	t.Logf("%d notifications acknowledged, %d attempts repeated, %d kills, before the last of which there were %d assessments; %s", *notified, n.again.Load(), *queueKills, before, record.summary(singles))
}

// turnsOf is how often a patient is notified of.
func turnsOf(patient, singles int) int {
	if patient < singles {
		return 1
	}
	return burst
}

// queued are the patients whose files are in the folder of a queue.
func queued(t *testing.T, folder string) (names []string) {
	t.Helper()
	for _, sub := range []string{"waiting", "running"} {
		entries, err := os.ReadDir(filepath.Join(folder, sub))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			names = append(names, e.Name())
		}
	}
	return names
}

// check wants an assessment that knows the last change of every patient.
func (r *changingRecord) check(t *testing.T, singles int) {
	t.Helper()
	r.mu.Lock()
	defer r.mu.Unlock()
	ofBursts := 0
	for patient := range r.changes {
		if want := turnsOf(patient, singles); r.changes[patient] != want || r.assessed[patient] != want {
			t.Errorf("patient %d was changed %d times, and assessed with change %d, want %d", patient, r.changes[patient], r.assessed[patient], want)
		}
		if patient >= singles {
			ofBursts += r.answers[patient]
		}
	}
	if most := (len(r.changes) - singles) * burst / 2; ofBursts > most {
		t.Errorf("bursts of %d led to %d assessments of %d patients, want at most %d", burst, ofBursts, len(r.changes)-singles, most)
	}
}

// assessments is how many answers there were.
func (r *changingRecord) assessments() (sum int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, n := range r.answers {
		sum += n
	}
	return sum
}

func (r *changingRecord) summary(singles int) string {
	r.mu.Lock()
	defer r.mu.Unlock()
	var alone, together int
	for patient, n := range r.answers {
		if patient < singles {
			alone += n
		} else {
			together += n
		}
	}
	return fmt.Sprintf("%d assessments of %d patients who changed once, %d of %d in bursts of %d", alone, singles, together, len(r.answers)-singles, burst)
}
