package wording

// Headings are the titles and column heads of a report.
type Headings struct {
	Title     string
	PlanTitle string
	NoteTitle string
	Chart     string
	Why       string
	WhyFlag   string // Why, while a red flag holds
	Next      string
	Strength  string
	Course    string
	Exercises string
	Measure   string
	Goals     string
	Input     string
	Cautions  string
	Sources   string
	Progress  string
	RangePain string

	// Column heads of the table of strength and symmetry.
	Position   string // fits 14
	Involved   string // fits 9
	Comparison string // fits 10
	Index      string // fits 6
	Interval   string // fits 13; {1} is the confidence
	Verdict    string // fits 22
	Change     string

	// Column heads of the table of progress.
	Measured   string
	Since      string // fits 10
	First      string // fits 6
	Now        string // fits 6
	Difference string // fits 8
	Detectable string // fits 10; smallest difference beyond measurement error
	Result     string // fits 12
	Notes      string
}
