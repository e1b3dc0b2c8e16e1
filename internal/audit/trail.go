package audit

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"

	"evenreach.example/internal/ops"
)

// Naming says how the trail names patients.
type Naming string

// The ways to name a patient.
const (
	// Pseudonym is a keyed digest: who has the key can tell whether a patient is meant,
	// and nobody else can tell which.
	Pseudonym Naming = "pseudonym"
	// Clear is the reference by which the record names the patient.
	Clear Naming = "reference"
	// Nobody leaves the patient out.
	Nobody Naming = "none"
)

// Namings lists the ways, the usual one first.
var Namings = []Naming{Pseudonym, Clear, Nobody}

// Config says where the trail is written, and how.
type Config struct {
	// To is written a line at a time.
	To io.Writer
	// Patients says how they are named; Key is that of the pseudonyms.
	Patients Naming
	Key      []byte
	// Required refuses an assessment whose event cannot be written.
	Required bool
}

// A Trail writes events. It may be used by many goroutines.
type Trail struct {
	config  Config
	version string
	lines   *ops.LogWriter
	written prometheus.Counter
	lost    prometheus.Counter
}

// New returns a Trail of a version of the software.
func New(c Config, version string, reg prometheus.Registerer) *Trail {
	events := promauto.With(reg).NewCounterVec(prometheus.CounterOpts{
		Name: "evenreach_audit_events_total",
		Help: "Events of the audit trail, by result: written, or lost because they could not be written, or not in time.",
	}, []string{"result"})
	return &Trail{config: c, version: version, lines: ops.NewLogWriter(c.To), written: events.WithLabelValues("written"), lost: events.WithLabelValues("lost")}
}

// Close writes what waits.
func (t *Trail) Close() { t.lines.Close() }

// patience is how long an assessment waits until its event is written. Ours: a disk
// that is well takes some milliseconds.
const patience = time.Second

// Write writes an event, and returns only once it is written or lost. It reports false if
// it is lost and must not be.
func (t *Trail) Write(e Event) bool {
	line, err := t.line(e)
	if err == nil {
		err = t.lines.WriteWithin(line, patience)
	}
	if err != nil {
		t.lost.Inc()
		return !t.config.Required
	}
	t.written.Inc()
	return true
}

// patient is how an event names the patient; nil for not at all. What two tenants both call Patient/1 are two patients.
func (t *Trail) patient(tenant string, p Patient) *reference {
	switch {
	case t.config.Patients == Pseudonym && p.Identity != "":
		sum := hmac.New(sha256.New, t.config.Key)
		if tenant != "" {
			sum.Write([]byte(tenant + "\x00")) // a hash never fails
		}
		sum.Write([]byte(p.Identity))
		return &reference{Identifier: &identifier{pseudonymsOf, hex.EncodeToString(sum.Sum(nil)[:16])}}
	case t.config.Patients != Clear:
		return nil
	case p.Reference.Reference != "":
		return &reference{Reference: p.Reference.Reference}
	case p.Reference.Identifier != nil:
		return &reference{Identifier: &identifier{p.Reference.Identifier.System, p.Reference.Identifier.Value}}
	}
	return nil
}
