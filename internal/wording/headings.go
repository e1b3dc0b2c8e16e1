package wording

// Headings are the titles and column heads of a report.
type Headings struct {
	Title     string
	PlanTitle string
	Chart     string
	Why       string
	Next      string
	Strength  string
	Course    string
	Exercises string
	Measure   string
	Goals     string
	Input     string
	Cautions  string
	Sources   string

	// Column heads of the table of strength and symmetry.
	Position   string // fits 14
	Involved   string // fits 9
	Comparison string // fits 10
	Index      string // fits 6
	Interval   string // fits 13; {1} is the confidence
	Verdict    string // fits 22
	Change     string
}
