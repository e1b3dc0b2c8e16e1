package config

import (
	"net/http"
	"strings"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/queue"
)

// Record is the configuration of the record that is asked and written, as it was written.
type Record struct {
	RecordBase          string `name:"record-base" env:"EVENREACH_RECORD_BASE" placeholder:"URL" help:"The base address of the FHIR record that is asked about patients and stores answers (none: only what is sent is assessed)."`
	RecordClient        string `name:"record-client" env:"EVENREACH_RECORD_CLIENT" placeholder:"ID" help:"Our client id at the record's token server, by SMART Backend Services; needs --record-token-url and --record-key (none)."`
	RecordTokenURL      string `name:"record-token-url" env:"EVENREACH_RECORD_TOKEN_URL" placeholder:"URL" help:"The token endpoint of the record."`
	RecordKey           string `name:"record-key" env:"EVENREACH_RECORD_KEY" placeholder:"FILE" help:"Our private key, as JSON Web Key with kid or as PKCS 8 in PEM: RSA, or on P-384. It is read for each token."`
	RecordScopes        string `name:"record-scopes" env:"EVENREACH_RECORD_SCOPES" default:"system/Patient.rs system/Encounter.rs system/Condition.rs system/Procedure.rs system/Observation.crus system/DiagnosticReport.crus system/DetectedIssue.crus system/CarePlan.crus system/Goal.crus system/Device.crus system/Provenance.crus" placeholder:"SCOPES" help:"The scopes that are asked for, separated by spaces."`
	RecordToken         string `name:"record-token" env:"EVENREACH_RECORD_TOKEN" placeholder:"FILE" help:"Instead of a client: a file with a bearer token that something else renews; it is read for each request (none)."`
	RecordCA            string `name:"record-ca" env:"EVENREACH_RECORD_CA" placeholder:"FILE" help:"The authorities, in PEM, that vouch for the record and its token server (those of the system)."`
	NotificationSecrets string `name:"notification-secrets" env:"EVENREACH_NOTIFICATION_SECRETS" placeholder:"FILE" help:"The secrets, one a line, by which the record may send notifications as a bearer token; it is read for each (none: notifications are taken only with --insecure-no-auth)."`
	NotificationQuiet   string `name:"notification-quiet" env:"EVENREACH_NOTIFICATION_QUIET" default:"10s" placeholder:"DURATION" help:"How long nothing must change about a patient before the assessment (${default})."`
	QueueFolder         string `name:"queue-folder" env:"EVENREACH_QUEUE_FOLDER" placeholder:"FOLDER" help:"Where the ids of patients to be assessed are kept over a restart; of one process alone (none: in memory, and a process that is killed loses them)."`
}

// RecordConfig is a checked configuration of the record.
type RecordConfig struct {
	Client *fhirclient.Client
	// Queue says how notifications are kept; nil to take none.
	Queue *queue.Options
	// Secrets is the file by which senders are let in; empty for everybody.
	Secrets string
}

// resolveRecord reads the configuration of the record; nil for none.
func (s Serve) resolveRecord(r *resolver) *RecordConfig {
	if s.RecordBase == "" {
		for option, text := range map[string]string{"record-client": s.RecordClient, "record-token": s.RecordToken, "notification-secrets": s.NotificationSecrets, "queue-folder": s.QueueFolder} {
			if text != "" {
				r.report(option, "found it without --record-base; expected both")
			}
		}
		return nil
	}
	if !isSafe(s.RecordBase) || strings.ContainsAny(s.RecordBase, "?#") {
		r.report("record-base", "found %q; expected an https address (http on the loopback interface only)", s.RecordBase)
	}
	secure := r.authorities("record-ca", s.RecordCA).Direct()
	c := &RecordConfig{Client: fhirclient.New(s.RecordBase, s.tokens(r, secure), secure), Secrets: s.NotificationSecrets}
	quiet := r.duration("notification-quiet", s.NotificationQuiet)
	open := r.boolean("insecure-no-auth", s.InsecureNoAuth)
	if c.Secrets != "" {
		if known, err := auth.ReadSecrets(c.Secrets); err != nil || len(known) == 0 {
			r.report("notification-secrets", "found no secret in the file; expected one a line, each of at least %d characters", auth.MinSecret)
		}
	}
	if c.Secrets != "" || open {
		c.Queue = &queue.Options{Quiet: quiet, Folder: s.QueueFolder}
	}
	return c
}

// tokens says how we prove who we are to the record; nil for not at all.
func (c Record) tokens(r *resolver, secure http.RoundTripper) fhirclient.Tokens {
	if c.RecordClient == "" {
		if c.RecordToken == "" && !strings.HasPrefix(c.RecordBase, "http:") {
			r.report("record-client", "found neither a client nor --record-token; expected one of them, because only a record on this machine lets in everybody")
		}
		return tokenFile(c.RecordToken)
	}
	if c.RecordToken != "" {
		r.report("record-token", "found --record-client as well; expected one of the two")
	}
	if !isSafe(c.RecordTokenURL) {
		r.report("record-token-url", "found %q; expected an https address (http on the loopback interface only)", c.RecordTokenURL)
	}
	if _, err := fhirclient.ReadKey(c.RecordKey); err != nil {
		r.report("record-key", "%v", err)
	}
	if strings.TrimSpace(c.RecordScopes) == "" {
		r.report("record-scopes", "found none; expected some, separated by spaces")
	}
	return fhirclient.NewBackend(c.RecordClient, c.RecordTokenURL, c.RecordScopes, c.RecordKey, secure)
}
