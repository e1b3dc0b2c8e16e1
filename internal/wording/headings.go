package wording

// Offers are what a card offers to do.
type Offers struct {
	Plan       string
	PlanDetail string
	Requests   string
}

// Headings are the titles and column heads of a report.
type Headings struct {
	Title     string
	PlanTitle string
	NoteTitle string
	Chart     string
	Alarms    string // the alarms that the summary only counts
	Why       string
	WhyFlag   string // Why, while a red flag holds
	Next      string
	Strength  string
	Workings  string // of the table of strength
	Course    string
	Exercises string
	Demands   string // of work and sport
	Measure   string
	Goals     string
	Input     string
	Cautions  string
	Sources   string
	Progress  string
	RangePain string
	Remains   string
	Signature string

	// Column heads of the table of strength and symmetry.
	Position   string // fits 14
	Involved   string // fits 9
	Comparison string // fits 10
	Index      string // fits 6
	Interval   string // fits 13; {1} is the confidence
	Verdict    string // fits 11 in the table of six, 22 in the other
	Other      string // fits 9; the comparison side
	SinceLast  string // fits 6 a line
	SinceFirst string // fits 6 a line
	Change     string

	// Column heads of the table of progress.
	Measured   string
	Since      string // fits 10
	First      string // fits 6
	Best       string // fits 6
	Now        string // fits 6
	Difference string // fits 8
	Result     string // fits 12
	Notes      string
}
