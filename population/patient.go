package population

import (
	"math"
	"slices"
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Kind is what came of a patient.
type Kind string

// The kinds.
const (
	Assessed   Kind = "assessed"
	Refused    Kind = "refused"   // with a reason
	NoShoulder Kind = "elsewhere" // nothing of a shoulder is there
)

// dayLayout is how days are written.
const dayLayout = time.DateOnly

// Patient is what the summary needs to know of one patient: a line of patients/. It holds
// no name.
type Patient struct {
	Patient  string `json:"patient"`
	Kind     Kind   `json:"kind"`
	Refusal  string `json:"refusal,omitempty"`
	Counts   Counts `json:"counts"`
	Protocol string `json:"protocol,omitempty"` // digest
	Software string `json:"software,omitempty"`

	Involved   string            `json:"involved,omitempty"`
	Status     string            `json:"status,omitempty"`
	Steps      map[string]string `json:"steps,omitempty"` // by rotation
	Flags      []string          `json:"flags,omitempty"` // that hold
	Doubts     []string          `json:"doubts,omitempty"`
	Incomplete bool              `json:"incomplete,omitempty"` // some of the record is missing
	Visits     int               `json:"visits,omitempty"`
	First      string            `json:"first,omitempty"` // day of the first visit
	Last       string            `json:"last,omitempty"`  // day of the latest visit
	Repair     *Repair           `json:"repair,omitempty"`
	Recheck    *Recheck          `json:"recheck,omitempty"`
	Missing    []string          `json:"missing,omitempty"` // what to measure before anything else

	Progress *Progress `json:"progress,omitempty"`
	Ready    *Ready    `json:"ready,omitempty"`
	Courses  []Course  `json:"courses,omitempty"`
	Retests  []Retest  `json:"retests,omitempty"`
	Devices  []Reading `json:"devices,omitempty"`
}

// Repair is the repair of the cuff that the weeks are counted from.
type Repair struct {
	Kind string `json:"kind"`
	Day  string `json:"day,omitempty"` // empty if it is not recorded
}

// Recheck is when to measure again, or to examine.
type Recheck struct {
	From    string `json:"from"`
	To      string `json:"to"`
	Examine bool   `json:"examine,omitempty"`
}

// Course is the index of a rotation in a position over time, one value a week: the first
// of the week.
type Course struct {
	Motion   string    `json:"rotation"`
	Position string    `json:"position"`
	Weeks    []int     `json:"weeks"` // whole weeks since the origin
	Index    []float64 `json:"index"` // per cent, to a tenth
}

// outcome puts together all that is said of a patient.
func (c *caseOf) outcome() *Outcome {
	o := &Outcome{Patient: Patient{Patient: c.name, Kind: Refused, Software: c.assessor.Pipeline.Version}}
	o.Rejected = c.account().tally(&o.Patient.Counts)
	switch {
	case c.answer != nil:
		o.Patient.Kind = Assessed
		v := c.view()
		v.fill(&o.Patient)
		o.Rows = v.rows()
		o.Results = c.results()
	case c.aboutNoShoulder():
		o.Patient.Kind = NoShoulder
	default:
		o.Patient.Refusal = c.refusal()
	}
	return o
}

// view is an assessment with what the outputs ask of it.
type view struct {
	c *caseOf
	a *assess.Assessment
	// origin is the day that weeks are counted from: of the repair, else of the first visit.
	origin   time.Time
	repair   *shoulder.Repair // nil without a dated one
	first    time.Time
	began    *time.Time // the trouble; nil if it is not recorded
	sessions []int      // of the shoulder, by their indices
}

func (c *caseOf) view() *view {
	v := &view{c: c, a: c.answer.Assessment}
	for i := range v.a.Episode.Sessions {
		if s := &v.a.Episode.Sessions[i]; len(s.Trials)+len(s.Grades)+len(s.Ranges)+len(s.Pains) > 0 {
			v.sessions = append(v.sessions, i)
		}
	}
	if len(v.sessions) > 0 {
		v.first = v.when(v.sessions[0])
	}
	if day, known := v.onset(); known && !day.After(v.first) {
		v.began = &day
	}
	v.origin = v.first
	if state := healing.At(v.a.Episode, v.a.Protocol, v.a.AsOf); state.Dated() {
		v.repair = state.Repair
		v.origin = state.Repair.Date
	}
	return v
}

func (v *view) when(session int) time.Time { return v.a.Episode.Sessions[session].When }

// weeks are those since the origin, below 0 before it.
func (v *view) weeks(when time.Time) float64 { return weeksBetween(v.origin, when) }

func weeksBetween(from, to time.Time) float64 {
	const daysPerWeek = 7
	return float64(measure.DaysBetween(from, to)) / daysPerWeek
}

// fill writes what stands and what is due.
func (v *view) fill(p *Patient) {
	a := v.a
	p.Protocol, p.Involved, p.Status = a.Protocol.Digest(), a.Episode.Involved.String(), a.Readiness.Overall.String()
	p.Incomplete, p.Visits = a.Readiness.Incomplete, len(v.sessions)
	if len(v.sessions) > 0 {
		p.First, p.Last = v.first.Format(dayLayout), v.when(v.sessions[len(v.sessions)-1]).Format(dayLayout)
	}
	p.Steps = map[string]string{}
	for i := range a.Readiness.Trained() {
		r := &a.Readiness.Motions[i]
		p.Steps[r.Motion.String()] = r.Step.String()
	}
	p.Flags = holdingFlags(a.Readiness.Flags)
	for _, d := range a.Readiness.Doubts {
		p.Doubts = appendNew(p.Doubts, d.Doubt.String())
	}
	p.Repair = v.repairOf()
	p.Recheck = &Recheck{From: a.Plan.Recheck.From.Format(dayLayout), To: a.Plan.Recheck.To.Format(dayLayout), Examine: a.Plan.Examine}
	p.Missing = missingOf(a.Plan.Requests)
	p.Progress, p.Ready = v.progress(), v.ready()
	p.Courses, p.Retests, p.Devices = v.courses(), v.retests(), v.devices()
}

func holdingFlags(flags []redflag.Flag) (codes []string) {
	for i := range flags {
		if flags[i].Holds() {
			codes = appendNew(codes, flags[i].Code.String())
		}
	}
	return codes
}

func appendNew(list []string, text string) []string {
	if slices.Contains(list, text) {
		return list
	}
	return append(list, text)
}

func (v *view) repairOf() *Repair {
	state := healing.At(v.a.Episode, v.a.Protocol, v.a.AsOf)
	if state.Repair == nil {
		return nil
	}
	r := &Repair{Kind: state.Repair.Kind.String()}
	if state.Dated() {
		r.Day = state.Repair.Date.Format(dayLayout)
	}
	return r
}

// missingOf names what is asked for before anything else, because it is not there.
func missingOf(requests []plan.Request) (all []string) {
	for i := range requests {
		r := &requests[i]
		if !r.First || r.Why != plan.WhyMissing && r.Why != plan.WhyStale && r.Why != plan.WhyIncomplete {
			continue
		}
		text := r.Ask.String()
		if r.Motion != shoulder.MotionUnknown {
			text += " " + r.Motion.String()
		}
		if r.Position != shoulder.PositionUnstated {
			text += " " + r.Position.String()
		}
		if r.Movement != shoulder.MovementUnknown {
			text += " " + r.Movement.String()
		}
		all = appendNew(all, text)
	}
	return all
}

// courses are the indices that decide, by weeks since the origin.
func (v *view) courses() (all []Course) {
	for _, motion := range shoulder.Trained {
		for _, position := range motion.TestedIn() {
			c := Course{Motion: motion.String(), Position: position.String()}
			for _, s := range v.a.Measurements.DecidingIndices(motion, position) {
				week := int(math.Floor(v.weeks(s.When)))
				if s.Doubtful() || week < 0 || len(c.Weeks) > 0 && c.Weeks[len(c.Weeks)-1] == week {
					continue
				}
				c.Weeks = append(c.Weeks, week)
				c.Index = append(c.Index, tenth(s.Index.Float64()))
			}
			if len(c.Weeks) > 0 {
				all = append(all, c)
			}
		}
	}
	return all
}

// tenth rounds to a tenth.
func tenth(x float64) float64 { return math.Round(x*10) / 10 }

// Row is one visit, rotation and position of one patient: a row of rows/. What is about
// the whole stands in the rows of the latest visit alone.
type Row struct {
	Patient        string   `json:"patient" parquet:"patient,dict"`
	Visit          int32    `json:"visit" parquet:"visit"` // from 1
	Day            string   `json:"day" parquet:"day,dict"`
	Motion         string   `json:"rotation" parquet:"rotation,dict"`
	Position       string   `json:"position" parquet:"position,dict"`
	Index          *float64 `json:"index" parquet:"index,optional"` // per cent
	Low            *float64 `json:"low" parquet:"low,optional"`     // of its interval; null if it has no such end
	High           *float64 `json:"high" parquet:"high,optional"`
	GoodEnough     *float64 `json:"probabilityGoodEnough" parquet:"probability_good_enough,optional"`
	Even           *float64 `json:"probabilityEven" parquet:"probability_even,optional"`
	Carried        bool     `json:"comparisonCarried" parquet:"comparison_carried"` // the comparison side's score is an earlier visit's
	Doubtful       bool     `json:"doubtful" parquet:"doubtful"`                    // to be repeated or confirmed
	SinceFirst     float64  `json:"weeksSinceFirst" parquet:"weeks_since_first"`
	SinceRepair    *float64 `json:"weeksSinceRepair" parquet:"weeks_since_repair,optional"`
	SinceOnset     *float64 `json:"weeksSinceOnset" parquet:"weeks_since_onset,optional"` // of the shoulder's Condition: the injury, where there was one
	Repair         *string  `json:"repair" parquet:"repair,optional,dict"`
	Step           *string  `json:"step" parquet:"step,optional,dict"`
	VerdictGood    *string  `json:"goodEnough" parquet:"good_enough,optional,dict"`
	VerdictEven    *string  `json:"even" parquet:"even,optional,dict"`
	VerdictConfirm *string  `json:"confirmed" parquet:"confirmed,optional,dict"`
	Status         *string  `json:"status" parquet:"status,optional,dict"`
	Flags          *string  `json:"flags" parquet:"flags,optional,dict"` // that hold, with spaces between them
	Protocol       string   `json:"protocol" parquet:"protocol,dict"`    // digest
}

// rows are the indices that decide, of every visit.
func (v *view) rows() (all []Row) {
	latest := v.a.Episode.Latest()
	for i := range v.a.Readiness.Motions {
		motion := &v.a.Readiness.Motions[i]
		for k := range motion.Positions {
			position := &motion.Positions[k]
			for _, s := range v.a.Measurements.DecidingIndices(motion.Motion, position.Position) {
				row := v.row(s)
				if s.Session == latest {
					v.conclude(&row, motion, position)
				}
				all = append(all, row)
			}
		}
	}
	return all
}

// row is one index.
func (v *view) row(s *measure.Symmetry) Row {
	row := Row{
		Patient: v.c.name, Visit: int32(slices.Index(v.sessions, s.Session) + 1), Day: s.When.Format(dayLayout),
		Motion: s.Motion.String(), Position: s.Position.String(),
		Index: new(tenth(s.Index.Float64())), GoodEnough: new(thousandth(s.ProbabilityGoodEnough)), Even: new(thousandth(s.ProbabilityEven)),
		Carried: s.CarriedForward, Doubtful: s.Doubtful(),
		SinceFirst: hundredth(weeksBetween(v.first, s.When)), Protocol: v.a.Protocol.Digest(),
	}
	if s.Interval.Bounds == measure.Bounded {
		row.Low, row.High = new(tenth(s.Interval.Low)), new(tenth(s.Interval.High))
	}
	if v.began != nil {
		row.SinceOnset = new(hundredth(weeksBetween(*v.began, s.When)))
	}
	if v.repair != nil {
		row.SinceRepair = new(hundredth(weeksBetween(v.repair.Date, s.When)))
		row.Repair = new(v.repair.Kind.String())
	}
	return row
}

func hundredth(x float64) float64  { return math.Round(x*100) / 100 }
func thousandth(x float64) float64 { return math.Round(x*1000) / 1000 }

// conclude writes what the latest visit leads to.
func (v *view) conclude(row *Row, r *readiness.MotionReadiness, p *readiness.PositionReadiness) {
	if r.Motion.Trained() {
		row.Step = new(r.Step.String())
	}
	row.VerdictGood, row.VerdictEven, row.VerdictConfirm = new(p.GoodEnough.Verdict.String()), new(p.Even.Verdict.String()), new(p.Confirmed.Verdict.String())
	row.Status = new(v.a.Readiness.Overall.String())
	flags := ""
	for i, code := range holdingFlags(v.a.Readiness.Flags) {
		if i > 0 {
			flags += " "
		}
		flags += code
	}
	row.Flags = &flags
}

// observation is the Observation of a source, nil if it is another resource.
func (v *view) observation(id shoulder.SourceID) *fhir.Observation {
	at, ok := v.c.line(v.c.answer.Reading.Sources[id].Path)
	if !ok {
		return nil
	}
	o, _ := v.c.entries[at].Resource.(*fhir.Observation)
	return o
}
