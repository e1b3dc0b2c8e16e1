package monitoring_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"
)

// page is a section of the runbook: the name of its alert, what it means, the commands to begin with, and the steps.
var page = regexp.MustCompile(`(?m)^## (\w+)\n\n(Meaning: [^#]+?)\n\n((?:    .+\n)+)\n(1\. [^#]+)`)

// commandsOfAPage is how many commands whoever is called begins with. Source: asked for.
const commandsOfAPage = 3

func TestRunbookHasAPageForEachAlert(t *testing.T) {
	metrics := recorded(t, live(t))
	var pages, names []string
	for _, s := range page.FindAllStringSubmatch(string(read(t, "runbook.md")), -1) {
		pages = append(pages, s[1])
		commands := strings.Split(strings.TrimSpace(s[3]), "\n")
		if len(commands) != commandsOfAPage {
			t.Errorf("%s: %d commands, want %d", s[1], len(commands), commandsOfAPage)
		}
		for _, command := range commands {
			for _, problem := range checkCommand(strings.TrimSpace(command), metrics) {
				t.Errorf("%s: %s: %s", s[1], command, problem)
			}
		}
	}
	for _, a := range alerts(t) {
		names = append(names, a.Alert)
	}
	if !slices.Equal(pages, names) {
		t.Errorf("pages with a meaning, commands and a first step:\n%q, want those of the alerts in their order:\n%q", pages, names)
	}
}

// query is what a command asks Prometheus.
var query = regexp.MustCompile(`^ask '(.+)'$`)

// checkCommand finds what a command names and nothing has: a program, or something of a query.
func checkCommand(command string, metrics map[string]labels) []string {
	if q := query.FindStringSubmatch(command); q != nil {
		return check(q[1], metrics)
	}
	if !strings.HasPrefix(command, "kubectl ") {
		return []string{"is neither a question to Prometheus nor to the cluster"}
	}
	// kubectl gives ten lines only of Pods that are named by a label.
	if strings.Contains(command, " logs -l ") && !strings.Contains(command, "--tail=") {
		return []string{"says nothing of how many lines"}
	}
	return nil
}

func TestCheckCommandFindsWhatIsNotThere(t *testing.T) {
	metrics := map[string]labels{"requests_total": {"job": {"evenreach"}}}
	for command, want := range map[string]string{
		`ask 'requests_total{job="evenreach"}'`: "",
		`ask 'request_total{job="evenreach"}'`:  "no metric request_total",
		"kubectl get pods":                      "",
		"kubectl logs -l app=evenreach":         "says nothing of how many lines",
		"uptime":                                "is neither a question to Prometheus nor to the cluster",
	} {
		if got := strings.Join(checkCommand(command, metrics), "; "); got != want {
			t.Errorf("%s: found %q, want %q", command, got, want)
		}
	}
}

// Panels and settings that the runbook sends somebody to are there.
func TestRunbookNamesPanelsThatExist(t *testing.T) {
	for _, named := range regexp.MustCompile(`Dashboard, "([^"]+)"`).FindAllStringSubmatch(string(read(t, "runbook.md")), -1) {
		if !slices.ContainsFunc(panels(t), func(p panel) bool { return p.Title == named[1] }) {
			t.Errorf("the dashboard has no panel %q", named[1])
		}
	}
}
