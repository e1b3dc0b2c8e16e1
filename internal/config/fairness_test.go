package config

import (
	"strings"
	"testing"

	"evenreach.example/internal/service"
)

func TestFairness(t *testing.T) {
	server, err := parse(t, nil).Resolve()
	if err != nil || server.Fairness != (service.Fairness{Burst: 100}) {
		t.Errorf("%+v, %v; want no limits by default", server.Fairness, err)
	}
	server, err = parse(t, map[string]string{"EVENREACH_CLIENT_RATE": "2.5"}, "--client-burst=7", "--client-concurrent=3").Resolve()
	if err != nil || server.Fairness != (service.Fairness{Rate: 2.5, Burst: 7, Concurrent: 3}) {
		t.Errorf("%+v, %v; want what was set", server.Fairness, err)
	}
	for flag, want := range map[string]string{
		"--client-rate=fast":      `--client-rate (EVENREACH_CLIENT_RATE): found "fast"`,
		"--client-rate=-1":        `--client-rate`,
		"--client-rate=NaN":       `--client-rate`,
		"--client-rate=Inf":       `--client-rate`,
		"--client-burst=0":        `--client-burst (EVENREACH_CLIENT_BURST): found "0"`,
		"--client-concurrent=-1":  `--client-concurrent (EVENREACH_CLIENT_CONCURRENT): found "-1"`,
		"--client-concurrent=0.5": `--client-concurrent`,
	} {
		if _, err := parse(t, nil, flag).Resolve(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", flag, err, want)
		}
	}
}
