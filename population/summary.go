package population

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"time"

	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// SummaryOptions say how to summarise.
type SummaryOptions struct {
	// On is the day by which a re-check is due or overdue; empty for the day of the latest
	// visit of all.
	On    string
	Words *wording.Catalogue // nil for English
	Paper typeset.Paper      // A4 if it is empty
}

func (o SummaryOptions) paper() typeset.Paper {
	if o.Paper == (typeset.Paper{}) {
		return typeset.A4
	}
	return o.Paper
}

// Summary is what is said about all patients together. Cells of fewer than ten patients are
// not shown.
type Summary struct {
	On        string          `json:"on"`
	Software  []string        `json:"software"`
	Protocols []string        `json:"protocols"` // digests
	Lines     Counts          `json:"lines"`
	Patients  Number          `json:"patients"`
	Status    map[string]Cell `json:"status"`
	Flags     map[string]Cell `json:"flags"`
	Rechecks  map[string]Cell `json:"rechecks"`
	Progress  map[string]Cell `json:"progress"`
	Refusals  map[string]Cell `json:"refusals"`
	Curves    []Curve         `json:"curves"`
	Ready     []TimeToReady   `json:"ready"`
	Error     []Precision     `json:"error"`
	Devices   []Device        `json:"devices"`
}

// Number is how many patients there are.
type Number struct {
	Assessed, Refused int
	Elsewhere         int // without anything of a shoulder
	Incomplete        int // of those assessed, with a line that could not be read
}

// cells are the numbers without the small ones, by what they are of. Their sum is nowhere, so
// that none can be told from the others.
func (n Number) cells() map[string]Cell {
	return map[string]Cell{
		string(Assessed): cellOf(n.Assessed), string(Refused): cellOf(n.Refused), string(NoShoulder): cellOf(n.Elsewhere),
		"incomplete": cellOf(n.Incomplete),
	}
}

// MarshalJSON writes the numbers that are not small.
func (n Number) MarshalJSON() ([]byte, error) { return json.Marshal(n.cells()) }

// Cell is a number of patients; small ones are not shown.
type Cell struct {
	Patients int
	Hidden   bool
}

// smallest is the fewest patients that a cell is shown for.
//
// Common practice: many registries publish no cell below 10 or 11.
const smallest = 10

// MarshalJSON writes the number, or null.
func (c Cell) MarshalJSON() ([]byte, error) {
	if c.Hidden {
		return []byte("null"), nil
	}
	return json.Marshal(c.Patients)
}

// cellOf hides a small number.
func cellOf(n int) Cell { return Cell{n, 0 < n && n < smallest} }

// cellsOf hides the small cells of a table. One alone could be told from the sum of all, so
// the next smallest goes with it.
func cellsOf(counts map[string]int) map[string]Cell {
	cells, hidden := make(map[string]Cell, len(counts)), 0
	for key, n := range counts {
		if cells[key] = cellOf(n); cells[key].Hidden {
			hidden++
		}
	}
	if hidden != 1 {
		return cells
	}
	next := ""
	for _, key := range slices.Sorted(maps.Keys(counts)) {
		if c := cells[key]; !c.Hidden && c.Patients > 0 && (next == "" || c.Patients < counts[next]) {
			next = key
		}
	}
	if next != "" {
		cells[next] = Cell{counts[next], true}
	}
	return cells
}

// Lists name patients: for the clinic alone.
type Lists struct {
	On         string   `json:"on"`
	Examine    []Listed `json:"examine"`    // red flags that hold
	Overdue    []Listed `json:"overdue"`    // re-checks
	Due        []Listed `json:"due"`        // re-checks
	NoProgress []Listed `json:"noProgress"` // none shown by the model of the course
	Missing    []Listed `json:"missing"`    // measurements
	Refused    []Listed `json:"refused"`
}

// Listed is one patient of a list.
type Listed struct {
	Patient string   `json:"patient"`
	Last    string   `json:"last,omitempty"` // visit
	From    string   `json:"from,omitempty"`
	To      string   `json:"to,omitempty"`
	What    []string `json:"what,omitempty"` // codes
	Likely  *float64 `json:"likely,omitempty"`
}

// Summarise reads what was said about each patient from an output, and writes the summary,
// the lists and the pages. It is run over finished outputs alone, which may have been
// written by many machines: the order of the files does not matter.
func Summarise(out string, o SummaryOptions) (*Summary, error) {
	f := &folder{out}
	s := newSummariser()
	if err := f.lines(CountsFolder, s.addCounts); err != nil {
		return nil, err
	}
	if err := f.lines(PatientsFolder, s.addPatient); err != nil {
		return nil, err
	}
	summary, lists := s.conclude(o.On)
	for name, value := range map[string]any{"summary.json": summary, "lists.json": lists} {
		text, err := json.MarshalIndent(value, "", " ")
		if err != nil {
			return nil, err
		}
		if err := f.replace(filepath.Join(SummaryFolder, name), append(text, '\n')); err != nil {
			return nil, err
		}
	}
	return summary, f.pages(summary, lists, o)
}

// pages writes the pages for people: the one for the clinic alone, and the one about all
// patients together, that also for paper.
func (f *folder) pages(summary *Summary, lists *Lists, o SummaryOptions) error {
	words := o.Words
	if words == nil {
		words = wording.For("en")
	}
	report := reportPage(summary, words)
	paper, err := report.paper(o.paper(), summary.On)
	if err != nil {
		return err
	}
	return cmp.Or(
		f.replace("clinic.html", clinicPage(lists, words).html()),
		f.replace("report.pdf", paper),
		f.replace("report.html", report.html()), // last: it says that the run is complete
	)
}

// summariser adds patients up.
type summariser struct {
	summary   Summary
	lists     Lists
	software  map[string]bool
	protocols map[string]bool
	status    map[string]int
	flags     map[string]int
	progress  map[string]int
	refusals  map[string]int
	rechecks  []Listed
	latest    string // visit
	curves    curves
	ready     map[group][]Ready
	retests   map[Precision][]float64
	devices   devices
}

func newSummariser() *summariser {
	return &summariser{
		software: map[string]bool{}, protocols: map[string]bool{},
		status: map[string]int{}, flags: map[string]int{}, progress: map[string]int{}, refusals: map[string]int{},
		curves: curves{}, ready: map[group][]Ready{}, retests: map[Precision][]float64{}, devices: devices{},
	}
}

func (s *summariser) addCounts(text []byte) error {
	var c Counts
	if err := json.Unmarshal(text, &c); err != nil {
		return fmt.Errorf("counts: %w", err)
	}
	s.summary.Lines.Add(c)
	return nil
}

func (s *summariser) addPatient(text []byte) error {
	var p Patient
	if err := json.Unmarshal(text, &p); err != nil {
		return fmt.Errorf("patients: %w", err)
	}
	s.summary.Lines.Add(p.Counts)
	s.software[p.Software] = true
	switch p.Kind {
	case NoShoulder:
		s.summary.Patients.Elsewhere++
	case Refused:
		s.summary.Patients.Refused++
		s.refusals[p.Refusal]++
		s.lists.Refused = append(s.lists.Refused, Listed{Patient: p.Patient, What: []string{p.Refusal}})
	default:
		s.addAssessed(&p)
	}
	return nil
}

func (s *summariser) addAssessed(p *Patient) {
	s.summary.Patients.Assessed++
	if p.Incomplete {
		s.summary.Patients.Incomplete++
	}
	s.protocols[p.Protocol] = true
	s.status[p.Status]++
	s.latest = max(s.latest, p.Last)
	for _, flag := range p.Flags {
		s.flags[flag]++
	}
	s.list(p)
	g := groupOf(p)
	for i := range p.Courses {
		s.curves.add(g, &p.Courses[i])
	}
	if p.Ready != nil {
		s.ready[g] = append(s.ready[g], *p.Ready)
	}
	for _, r := range p.Retests {
		key := Precision{Motion: r.Motion, Position: r.Position, Involved: r.Involved}
		s.retests[key] = append(s.retests[key], r.Difference)
	}
	for i := range p.Devices {
		s.devices.add(&p.Devices[i])
	}
}

// list puts a patient on the lists that do not depend on the day.
func (s *summariser) list(p *Patient) {
	if len(p.Flags) > 0 {
		s.lists.Examine = append(s.lists.Examine, Listed{Patient: p.Patient, Last: p.Last, What: p.Flags})
	}
	if len(p.Missing) > 0 {
		s.lists.Missing = append(s.lists.Missing, Listed{Patient: p.Patient, Last: p.Last, What: p.Missing})
	}
	switch {
	case p.Progress == nil:
		s.progress["not-followed-long-enough"]++
	case p.Progress.Shown:
		s.progress["shown"]++
	default:
		s.progress["not-shown"]++
		s.lists.NoProgress = append(s.lists.NoProgress, Listed{Patient: p.Patient, Last: p.Last, Likely: &p.Progress.Likely})
	}
	if p.Recheck != nil {
		s.rechecks = append(s.rechecks, Listed{Patient: p.Patient, Last: p.Last, From: p.Recheck.From, To: p.Recheck.To})
	}
}

// lostAfter is how long after the last day of a re-check somebody counts as not followed
// any more, and is not called overdue: half a year. Ours.
const lostAfter = 26 * 7

// recall sorts the re-checks by the day.
func (s *summariser) recall(on string) map[string]int {
	counts := map[string]int{"later": 0, "due": 0, "overdue": 0, "not-followed": 0}
	day, err := time.Parse(dayLayout, on)
	if err != nil {
		return counts // nobody was assessed
	}
	lost := day.AddDate(0, 0, -lostAfter).Format(dayLayout)
	for _, r := range s.rechecks {
		switch {
		case on < r.From:
			counts["later"]++
		case on <= r.To:
			counts["due"]++
			s.lists.Due = append(s.lists.Due, r)
		case lost <= r.To:
			counts["overdue"]++
			s.lists.Overdue = append(s.lists.Overdue, r)
		default:
			counts["not-followed"]++
		}
	}
	return counts
}

// conclude makes the summary and the lists.
func (s *summariser) conclude(on string) (*Summary, *Lists) {
	if on == "" {
		on = s.latest
	}
	out := &s.summary
	out.On, s.lists.On = on, on
	out.Software, out.Protocols = slices.Sorted(maps.Keys(s.software)), slices.Sorted(maps.Keys(s.protocols))
	out.Rechecks = cellsOf(s.recall(on))
	out.Status, out.Flags = cellsOf(s.status), cellsOf(s.flags)
	out.Progress, out.Refusals = cellsOf(s.progress), cellsOf(s.refusals)
	out.Curves, out.Ready = s.curves.conclude(), timesToReady(s.ready)
	out.Error, out.Devices = precisions(s.retests), s.devices.conclude()
	for _, list := range []*[]Listed{&s.lists.Examine, &s.lists.Overdue, &s.lists.Due, &s.lists.NoProgress, &s.lists.Missing, &s.lists.Refused} {
		sortListed(*list)
	}
	return out, &s.lists
}

// sortListed puts who was not seen longest first.
func sortListed(list []Listed) {
	slices.SortFunc(list, func(a, b Listed) int {
		if a.Last != b.Last {
			if a.Last < b.Last {
				return -1
			}
			return 1
		}
		if a.Patient < b.Patient {
			return -1
		}
		return 1
	})
}
