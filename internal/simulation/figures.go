package simulation

import (
	"fmt"
	"strings"
)

// quota is how many of how many.
type quota struct{ part, whole int }

func (q quota) percent() float64 { return percent(q.part, q.whole) }

func (q quota) String() string {
	return fmt.Sprintf("%.1f %% (%d of %d)", q.percent(), q.part, q.whole)
}

func wrongly(d *Decisions) quota  { return quota{d.FirstWrongly, d.First} }
func heldBack(d *Decisions) quota { return quota{d.HeldBack, d.Even} }
func covered(d *Dates) quota      { return quota{d.Covered, d.Given} }
func dated(d *Dates) quota        { return quota{d.Patients, d.Anyone} }

// limits are between what a figure was wanted to be, in per cent.
type limits struct{ least, most float64 }

func atMost(most float64) limits { return limits{0, most} }

func (l limits) String() string {
	if l.least == 0 {
		return fmt.Sprintf("at most %.0f %%", l.most)
	}
	return fmt.Sprintf("%.0f-%.0f %%", l.least, l.most)
}

func (l limits) met(q quota) bool { return l.least <= q.percent() && q.percent() <= l.most }

// way is a way to reach a figure, and what came of it in one or several worlds.
type way struct {
	name  string
	found []quota
}

func (w way) String() string { return strings.TrimSpace(w.name + " " + joined(w.found)) }

// figure is a line of the first table. There is a limit for each world.
type figure struct {
	what    string
	without way // the model
	wanted  []limits
	now     []way
}

func joined[T fmt.Stringer](all []T) string {
	var words []string
	for _, one := range all {
		words = append(words, one.String())
	}
	return strings.Join(words, "; ")
}

// reached says which of the ways came within the limits, and in how many worlds if there are
// several.
func (f *figure) reached() string {
	var words []string
	for _, w := range f.now {
		met := 0
		for i, q := range w.found {
			if f.wanted[i].met(q) {
				met++
			}
		}
		verdict := map[bool]string{true: "yes", false: "no"}[met == len(w.found)]
		if len(w.found) > 1 {
			verdict = fmt.Sprintf("%d of %d", met, len(w.found))
		}
		words = append(words, strings.TrimSpace(w.name+" "+verdict))
	}
	return strings.Join(words, "; ")
}

const figuresIntro = `## The figures that were wanted

At a standard error of 10 %, but for the alarms, which are of the world and the error with the most of them, of those in which nobody loses strength and the error is as assumed.

| figure | without the model | wanted | now | reached |
|---|---|---|---|---|
`

func writeFigures(b *strings.Builder, results []*Result) {
	b.WriteString(figuresIntro)
	for _, f := range append(decided(results), followed(results)...) {
		fmt.Fprintf(b, "| %s | %v | %s | %s | %s |\n", f.what, f.without, joined(f.wanted), joined(f.now), f.reached())
	}
}

// decided are the figures of the decisions.
func decided(results []*Result) []figure {
	base := find(results, "independent errors")
	worlds := []*Result{base, find(results, "day factor"), find(results, "comparison side weakens")}
	first := func(name string, rule Rule) way {
		w := way{name: name}
		for _, r := range worlds {
			w.found = append(w.found, wrongly(&r.Decisions[rule]))
		}
		return w
	}
	held := func(name string, rule Rule) way { return way{name, []quota{heldBack(&base.Decisions[rule])}} }
	most, where := mostAlarms(results)
	return []figure{
		{"first declaration wrong: independent errors; day factor; comparison side weakens", first("a single session", SingleSession),
			[]limits{atMost(15), atMost(20), atMost(25)}, []way{first("model alone", Model), first("product", Product)}},
		{"truly even visits held back, independent errors", held("a single session", SingleSession),
			[]limits{atMost(55)}, []way{held("model alone", Model), held("product", Product)}},
		{"answers with a false flag or doubt: " + where, way{name: "not compared"}, []limits{atMost(2)}, []way{{"", []quota{most}}}},
	}
}

// mostAlarms is the share of the answers with a flag or a doubt where it is largest, of the
// worlds in which each of them is a false one and the error is as assumed.
func mostAlarms(results []*Result) (most quota, where string) {
	for _, r := range results {
		if q := (quota{r.Alarms.Any, r.Answers}); r.World.AsAssumed() && q.percent() >= most.percent() {
			most, where = q, fmt.Sprintf("%s, error of %d %%", r.World.Name, r.Error)
		}
	}
	return most, where
}

// followed are the figures of the course.
func followed(results []*Result) []figure {
	becoming, falling := find(results, "all become even"), find(results, "all level off at 78-88 %")
	carried, stable := find(results, "comparison every third visit"), find(results, "all stable")
	one := func(name string, q quota) way { return way{name, []quota{q}} }
	d := &stable.Declines
	return []figure{
		{"interval of the date of evenness contains it, where all become even", one("by a line through the indices", covered(&becoming.Forecasts.Line)),
			[]limits{{85, 95}}, []way{one("one test", covered(&becoming.Forecasts.Model)), one("all six", covered(&becoming.Forecasts.All))}},
		{"patients who level off at 78-88 % and are given a date at some visit", one("by a line", dated(&falling.Forecasts.Line)),
			[]limits{atMost(15)}, []way{one("for one test", dated(&falling.Forecasts.Model)), one("for all six", dated(&falling.Forecasts.All))}},
		{"90 % interval of the index contains it, comparison every third visit", one("by one session", quota{carried.Single.Contain, carried.Single.All}),
			[]limits{{88, 92}}, []way{one("", quota{carried.Whole.Contain, carried.Whole.All})}},
		{"answers for stable patients with a false decline", one("by the detectable change", quota{d.Detectable, d.Answers}),
			[]limits{atMost(5)}, []way{one("by the model", quota{d.Model, d.Answers}), one("by the product", quota{d.Product, d.Answers})}},
	}
}
