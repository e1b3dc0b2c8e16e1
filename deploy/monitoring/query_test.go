package monitoring_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// words are what a query may hold beside metrics: functions, aggregations and
// keywords of PromQL. A word that is missing here fails the test, and so does
// a metric that does not exist.
var words = strings.Fields(`absent and changes count histogram_quantile ignoring increase max max_over_time min offset on or rate scalar
	sum time topk unless vector`)

var (
	grouping  = regexp.MustCompile(`\b(by|without|on|ignoring)\s*\(([^)]*)\)`)
	selector  = regexp.MustCompile(`([a-zA-Z_:][\w:]*)\s*(?:\{([^}]*)\})?`)
	matcher   = regexp.MustCompile(`(\w+)\s*(=~|!~|!=|=)\s*"([^"]*)"`)
	exponent  = regexp.MustCompile(`^e\d+$`) // of a number such as 1e15
	durations = regexp.MustCompile(`\[[^\]]*\]|\boffset\s+\w+`)
)

// check finds what a query names and the service does not have: metrics,
// labels, and values of labels.
func check(query string, metrics map[string]labels) (problems []string) {
	groups := grouping.FindAllStringSubmatch(query, -1)
	rest := durations.ReplaceAllString(grouping.ReplaceAllString(query, ""), "")
	var used []string
	for _, s := range selector.FindAllStringSubmatch(rest, -1) {
		if slices.Contains(words, s[1]) || exponent.MatchString(s[1]) {
			continue
		}
		has, ok := metrics[s[1]]
		if !ok {
			problems = append(problems, "no metric "+s[1])
			continue
		}
		used = append(used, s[1])
		problems = append(problems, checkMatchers(s[1], s[2], has)...)
	}
	if len(used) == 0 && len(problems) == 0 {
		problems = append(problems, "names no metric")
	}
	for _, g := range groups {
		for name := range strings.SplitSeq(g[2], ",") {
			if name = strings.TrimSpace(name); !anyHas(metrics, used, name) {
				problems = append(problems, "no label "+name)
			}
		}
	}
	return problems
}

// checkMatchers wants every label, and every value that is spelt out.
func checkMatchers(metric, matchers string, has labels) (problems []string) {
	if !strings.Contains(matchers, `job="evenreach"`) {
		problems = append(problems, metric+" is asked of every job")
	}
	for _, m := range matcher.FindAllStringSubmatch(matchers, -1) {
		values, ok := has[m[1]]
		if !ok {
			problems = append(problems, fmt.Sprintf("%s has no label %s", metric, m[1]))
			continue
		}
		for value := range strings.SplitSeq(m[3], "|") {
			if !slices.Contains(values, value) {
				problems = append(problems, fmt.Sprintf("%s never has %s %q", metric, m[1], value))
			}
		}
	}
	return problems
}

// anyHas reports whether one of the metrics has the label; buckets have le.
func anyHas(metrics map[string]labels, used []string, label string) bool {
	return slices.ContainsFunc(used, func(metric string) bool {
		_, ok := metrics[metric][label]
		return ok || label == "le" && strings.HasSuffix(metric, "_bucket")
	})
}

func TestCheckFindsWhatIsNotThere(t *testing.T) {
	metrics := map[string]labels{
		"requests_total": {"job": {"evenreach"}, "code": {"200", "503"}},
		"seconds_bucket": {"job": {"evenreach"}},
	}
	tests := []struct{ name, query, want string }{
		{"good", `sum by (code) (rate(requests_total{job="evenreach",code=~"200|503"}[5m] offset 1h)) > 1e3`, ""},
		{"good histogram", `histogram_quantile(0.99, sum by (le) (rate(seconds_bucket{job="evenreach"}[5m])))`, ""},
		{"metric", `rate(request_total{job="evenreach"}[5m])`, "no metric request_total"},
		{"metric without selector", `rate(request_total[5m])`, "no metric request_total"},
		{"function", `quicken(requests_total{job="evenreach"}[5m])`, "no metric quicken"},
		{"label", `requests_total{job="evenreach",status="200"}`, "requests_total has no label status"},
		{"value", `requests_total{job="evenreach",code="204"}`, `requests_total never has code "204"`},
		{"one of several values", `requests_total{job="evenreach",code!~"200|204"}`, `requests_total never has code "204"`},
		{"label of a group", `sum by (status) (requests_total{job="evenreach"})`, "no label status"},
		{"le of no histogram", `sum by (le) (requests_total{job="evenreach"})`, "no label le"},
		{"job", `requests_total{code="200"}`, "requests_total is asked of every job"},
		{"nothing", `vector(1)`, "names no metric"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := strings.Join(check(tt.query, metrics), "; "); got != tt.want {
				t.Errorf("found %q, want %q", got, tt.want)
			}
		})
	}
}
