//go:build resilience

package resilience

import (
	"bufio"
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	sent         = flag.Int("messages", 10_000, "messages that are sent over MLLP")
	messageKills = flag.Int("message-kills", 50, "kills while messages are sent: three of the connections to one of the process")
)

// filingRecord is a FHIR server that takes transactions by conditional creates. Now and then it is busy, or
// files and then hangs up without a word.
type filingRecord struct {
	mu       sync.Mutex
	reports  map[string]string // the patient, by the identifier of the report
	asked    atomic.Int64
	repeated int
}

var patientIn = regexp.MustCompile(`Patient\?identifier=[^"]*`)

func (r *filingRecord) ServeHTTP(w http.ResponseWriter, request *http.Request) {
	body, err := io.ReadAll(request.Body)
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	n := r.asked.Add(1)
	if n%97 == 0 {
		http.Error(w, "busy", http.StatusServiceUnavailable)
		return
	}
	r.file(body)
	if n%89 == 0 {
		panic(http.ErrAbortHandler)
	}
	w.Header().Set("Content-Type", "application/fhir+json")
	_, _ = io.WriteString(w, `{"resourceType":"Bundle","type":"transaction-response"}`)
}

func (r *filingRecord) file(body []byte) {
	var bundle struct {
		Entry []struct {
			Request  struct{ IfNoneExist string }
			Resource struct{ ResourceType string }
		}
	}
	if json.Unmarshal(body, &bundle) != nil {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, e := range bundle.Entry {
		if e.Resource.ResourceType != "DiagnosticReport" {
			continue
		}
		if r.reports[e.Request.IfNoneExist] != "" {
			r.repeated++
		}
		r.reports[e.Request.IfNoneExist] = string(patientIn.Find(body))
	}
}

// resultsOf is the message about one patient.
func resultsOf(n int) string {
	return strings.Join([]string{
		fmt.Sprintf(`MSH|^~\&|A|B|C|D|20260302100000+0100||ORU^R01^ORU_R01|M%d|T|2.7`, n),
		fmt.Sprintf("PID|1||P%d^^^H^MR", n), "OBR|1||F1^LAB|X|||20260302090000+0100",
		"OBX|1|CWE|DX^^99CLN||414033006^^SCT||||||F|||||||||91774008^^SCT",
		fmt.Sprintf("OBX|2|NM|isometric-external-rotation-strength^^99EVR|1.1|%d|N|||||F|||||||||91774008^^SCT", 50+n%50),
		"OBX|3|NM|isometric-external-rotation-strength^^99EVR|1.2|100|N|||||F|||||||||91775009^^SCT",
		"OBX|4|CWE|arm-position^^99EVR|1|arm-at-side^^99EVR||||||F",
	}, "\r")
}

// sender sends messages over one connection at a time, each until it is accepted.
type sender struct {
	address string
	conn    atomic.Pointer[net.Conn]
	reader  *bufio.Reader
	again   int
}

// send sends a message until it is accepted.
func (s *sender) send(n int) {
	framed := []byte("\x0b" + resultsOf(n) + "\x1c\r")
	accepted := fmt.Sprintf("MSA|AA|M%d\r", n)
	for !s.try(framed, accepted) {
		s.again++
		time.Sleep(time.Duration(rand.IntN(20)) * time.Millisecond)
	}
}

// try sends a message once, in two parts or at one go.
func (s *sender) try(framed []byte, accepted string) bool {
	conn := s.conn.Load()
	if conn == nil {
		fresh, err := net.DialTimeout("tcp", s.address, time.Second)
		if err != nil {
			return false
		}
		conn = &fresh
		s.conn.Store(conn)
		s.reader = bufio.NewReader(fresh)
	}
	_ = (*conn).SetDeadline(time.Now().Add(30 * time.Second))
	cut := rand.IntN(len(framed))
	for _, part := range [][]byte{framed[:cut], framed[cut:]} {
		if _, err := (*conn).Write(part); err != nil {
			return s.lost(conn)
		}
	}
	reply, err := s.reader.ReadBytes(0x1c)
	if err != nil {
		return s.lost(conn)
	}
	if _, err := s.reader.ReadByte(); err != nil {
		return s.lost(conn)
	}
	return bytes.Contains(reply, []byte(accepted))
}

func (s *sender) lost(conn *net.Conn) bool {
	_ = (*conn).Close()
	s.conn.Store(nil)
	return false
}

// Every message is accepted in the end, and each that was is in the record, once, although connections and the
// process are killed, the record is busy, and answers of the record are lost.
func TestKilledWhileMessagesAreSent(t *testing.T) {
	record := &filingRecord{reports: map[string]string{}}
	server := httptest.NewServer(record)
	t.Cleanup(server.Close)
	address := freeAddress(t)
	r := run(t, "--mllp-listen="+address, "--v2-target="+server.URL)

	var group sync.WaitGroup
	next := atomic.Int64{}
	senders := make([]*sender, 8)
	for i := range senders {
		senders[i] = &sender{address: address}
		group.Go(func() {
			for n := int(next.Add(1)); n <= *sent; n = int(next.Add(1)) {
				senders[i].send(n)
			}
		})
	}
	for k := range *messageKills {
		for at := int64(*sent) * int64(k+1) / int64(*messageKills+1); next.Load() < at; {
			time.Sleep(time.Millisecond)
		}
		if k%4 == 3 {
			r.kill()
			r.start()
			continue
		}
		if conn := senders[rand.IntN(len(senders))].conn.Load(); conn != nil {
			_ = (*conn).Close()
		}
	}
	group.Wait()
	r.terminate()
	again := 0
	for _, s := range senders {
		again += s.again
	}
	t.Logf("%d messages accepted, %d attempts repeated, %d kills; the record was asked %d times, and %d times for what it had", *sent, again, *messageKills, record.asked.Load(), record.repeated)
	record.check(t)
}

// check wants one report for each patient.
func (r *filingRecord) check(t *testing.T) {
	t.Helper()
	r.mu.Lock()
	defer r.mu.Unlock()
	patients := map[string]int{}
	for _, patient := range r.reports {
		patients[patient]++
	}
	for n := 1; n <= *sent; n++ {
		if got := patients[fmt.Sprintf("Patient?identifier=urn%%3Aid%%3AH%%7CP%d", n)]; got != 1 {
			t.Errorf("message %d was accepted, and is in the record %d times", n, got)
		}
	}
	if len(r.reports) != *sent {
		t.Errorf("the record has %d reports, want %d", len(r.reports), *sent)
	}
}
