package monitoring_test

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// panel is a panel of Grafana, as far as it is used.
type panel struct {
	ID          int    `json:"id"`
	Title       string `json:"title"`
	Description string `json:"description"`
	Datasource  struct {
		UID string `json:"uid"`
	} `json:"datasource"`
	Place struct {
		Height int `json:"h"`
		Width  int `json:"w"`
		X      int `json:"x"`
		Y      int `json:"y"`
	} `json:"gridPos"`
	Targets []struct {
		Ref    string `json:"refId"`
		Expr   string `json:"expr"`
		Legend string `json:"legendFormat"`
	} `json:"targets"`
}

// gridWidth is how many columns a dashboard has. Source: Grafana, dashboard JSON model.
const gridWidth = 24

func panels(t *testing.T) []panel {
	t.Helper()
	var dashboard struct {
		UID    string  `json:"uid"`
		Panels []panel `json:"panels"`
	}
	if err := json.Unmarshal(read(t, "dashboard.json"), &dashboard); err != nil {
		t.Fatal(err)
	}
	if dashboard.UID != "evenreach" || len(dashboard.Panels) == 0 {
		t.Fatalf("uid %q with %d panels, want evenreach with some", dashboard.UID, len(dashboard.Panels))
	}
	return dashboard.Panels
}

func TestDashboardAsksForMetricsThatExist(t *testing.T) {
	metrics := recorded(t, live(t))
	for _, p := range panels(t) {
		if p.Title == "" || p.Description == "" || p.Datasource.UID != "${datasource}" || len(p.Targets) == 0 {
			t.Errorf("%q: want title, description, the site's data source and a query", p.Title)
		}
		for _, target := range p.Targets {
			for _, problem := range check(target.Expr, metrics) {
				t.Errorf("%s: %s: %s", p.Title, target.Expr, problem)
			}
		}
	}
}

// ofService is a metric of the service's own; what rules record of them has a colon.
var ofService = regexp.MustCompile(`\bevenreach[:_][\w:]+`)

// Whoever is called by an alert finds on the dashboard what the alert is about.
func TestWhatAlertsAskForIsOnTheDashboard(t *testing.T) {
	var shown []string
	for _, p := range panels(t) {
		for _, target := range p.Targets {
			shown = append(shown, ofService.FindAllString(target.Expr, -1)...)
		}
	}
	for _, a := range alerts(t) {
		for _, metric := range ofService.FindAllString(a.Expr, -1) {
			base, _, _ := strings.Cut(metric, ":ratio_rate") // one window of a burn rate is enough
			if !slices.ContainsFunc(shown, func(s string) bool { return s == metric || base != metric && strings.HasPrefix(s, base) }) {
				t.Errorf("%s asks for %s, of which there is no panel", a.Alert, metric)
			}
		}
	}
}

// A panel without a cell of its own covers another, and one with another's number takes its place.
func TestPanelsAreDrawnApart(t *testing.T) {
	cells, ids, titles := map[[2]int]string{}, map[int]string{}, map[string]bool{}
	for _, p := range panels(t) {
		at := p.Place
		if at.Width <= 0 || at.Height <= 0 || at.X < 0 || at.X+at.Width > gridWidth {
			t.Errorf("%s: stands outside the grid: %+v", p.Title, at)
		}
		if other, ok := ids[p.ID]; ok || titles[p.Title] {
			t.Errorf("%s: its number %d or its title is that of %q too", p.Title, p.ID, other)
		}
		ids[p.ID], titles[p.Title] = p.Title, true
		for x := at.X; x < at.X+at.Width; x++ {
			for y := at.Y; y < at.Y+at.Height; y++ {
				if other := cells[[2]int{x, y}]; other != "" && other != p.Title {
					t.Fatalf("%s covers %s", p.Title, other)
				}
				cells[[2]int{x, y}] = p.Title
			}
		}
	}
}

// inLegend is a label in the text of a legend.
var inLegend = regexp.MustCompile(`\{\{(\w+)\}\}`)

// A legend names what its query keeps apart; a label that an aggregation took away would show as nothing.
func TestLegendsNameWhatQueriesKeepApart(t *testing.T) {
	for _, p := range panels(t) {
		refs := map[string]bool{}
		for _, target := range p.Targets {
			if refs[target.Ref] || target.Ref == "" {
				t.Errorf("%s: two queries are %q", p.Title, target.Ref)
			}
			refs[target.Ref] = true
			for _, label := range inLegend.FindAllStringSubmatch(target.Legend, -1) {
				if strings.Contains(target.Expr, " by (") && !groups(target.Expr, label[1]) {
					t.Errorf("%s: %s: the legend names %s, which the query leaves out", p.Title, target.Expr, label[1])
				}
			}
		}
	}
}

// groups reports whether a query groups by a label.
func groups(query, label string) bool {
	return slices.ContainsFunc(grouping.FindAllStringSubmatch(query, -1), func(g []string) bool {
		return g[1] == "by" && slices.Contains(strings.FieldsFunc(g[2], func(r rune) bool { return r == ',' || r == ' ' }), label)
	})
}

// A panel whose query promtool is asked about by a name that does not exist would be empty, and so right.
func TestPanelsThatAreTriedExist(t *testing.T) {
	var names []string
	for _, p := range panels(t) {
		for _, target := range p.Targets {
			names = append(names, fmt.Sprintf("panel:%d:%s", p.ID, target.Ref)) // as check.sh names them
		}
	}
	tried := regexp.MustCompile(`expr: (panel:[\w:]+)`).FindAllStringSubmatch(string(read(t, "panels_test.yaml")), -1)
	if len(tried) == 0 {
		t.Error("no panel is tried")
	}
	for _, name := range tried {
		if !slices.Contains(names, name[1]) {
			t.Errorf("%s is no query of the dashboard", name[1])
		}
	}
}
