package report

import (
	"slices"
	"strconv"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// A story is an invented patient at one visit.
type story struct {
	name    string
	episode *shoulder.Episode
	asOf    time.Time
	issues  []fault.Issue
	// protocol is that of a clinic; nil for the default.
	protocol *protocol.Protocol
}

func stories() []story {
	return []story{
		{"stiff at the first visit", stiff(), day("2026-03-02"), nil, nil},
		{"third visit, external rotation behind", third(), day("2026-03-30"), thirdIssues(), nil},
		{"six weeks after a repair", repaired(), day("2026-03-02"), nil, nil},
		{"ready for functional work", ready(), day("2026-06-01"), nil, nil},
	}
}

const (
	er     = shoulder.External
	ir     = shoulder.Internal
	side   = shoulder.AtSide
	flex   = shoulder.Flexion90
	abduct = shoulder.Abduction90
)

func list(values ...string) []string { return values }

// stiff: active flexion of 110 degrees keeps the elevated positions closed.
func stiff() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-03-02")
		v.force(er, side, list("60.0", "64.0", "62.0"), list("95.0", "99.0", "97.0"))
		v.force(ir, side, list("101.0", "99.0"), list("120.0", "124.0"))
		v.active(shoulder.Flexion, "110", "172")
		v.active(shoulder.Abduction, "95.5", "170")
		v.pain(shoulder.PainDuringResistedTest, "4")
		v.pain(shoulder.PainAtRest, "2")
	})
}

// third: external rotation is good at the side and weak at 90 degrees of
// flexion; internal rotation is a step ahead, its arm steady when held free.
func third() *shoulder.Episode {
	e := newEpisode(func(v *visit) {
		v.on("2026-01-05")
		v.force(er, side, list("70.0", "72.0", "71.0"), list("98.0", "102.0", "100.0"))
		v.force(ir, side, list("90.0", "92.0"), list("120.0", "118.0"))
		v.active(shoulder.Flexion, "125", "170")
		v.active(shoulder.Abduction, "120", "170")
		v.pain(shoulder.PainDuringResistedTest, "6")
	}, func(v *visit) {
		v.on("2026-02-16")
		v.force(er, side, list("80.0", "82.0", "81.0"), list("100.0", "101.0", "99.0"))
		v.force(er, flex, list("60.0", "61.0"), list("96.0", "94.0"))
		v.force(ir, side, list("104.0", "106.0"), list("119.0", "121.0"))
		v.force(ir, flex, list("90.0", "88.0"), list("110.0", "112.0"))
		v.active(shoulder.Flexion, "150", "170")
		v.active(shoulder.Abduction, "140", "170")
		v.pain(shoulder.PainDuringResistedTest, "3")
	}, func(v *visit) {
		v.on("2026-03-30")
		v.force(er, side, list("92.0", "88.0", "90.0"), list("101.0", "99.0", "100.0"))
		v.force(er, flex, list("66.0", "68.0"), list("97.0", "95.0"))
		v.force(ir, side, list("117.0", "115.0"), list("120.0", "121.0"))
		v.force(ir, flex, list("98.0", "97.0"), list("111.0", "113.0"))
		v.trials(ir, abduct, shoulder.Right, list("70.0"))
		v.active(shoulder.Flexion, "160", "170")
		v.active(shoulder.Abduction, "150", "170")
		v.pain(shoulder.PainDuringResistedTest, "2")
		v.pain(shoulder.PainWorst24h, "3.5")
		v.steady(flex, true)
		v.session.Mass = &shoulder.Measured{Source: v.next(), Value: exact.MustParse("78")}
	})
	return e
}

func thirdIssues() []fault.Issue {
	return []fault.Issue{
		{Severity: fault.Warning, Kind: fault.SideMissing, Path: "Bundle.entry[31].resource", Detail: "no side in code, body site or extension; expected right or left"},
		{Severity: fault.Information, Kind: fault.NotRead, Path: "Bundle.entry[40].resource", Detail: "not part of this assessment"},
		{Severity: fault.Information, Kind: fault.NotRead, Path: "Bundle.entry[41].resource", Detail: "not part of this assessment"},
		{Severity: fault.Information, Kind: fault.NotRead, Path: "Bundle.entry[42].resource", Detail: "not part of this assessment"},
		{Severity: fault.Information, Kind: fault.NotRead, Path: "Bundle.entry[43].resource", Detail: "not part of this assessment"},
	}
}

// repaired: a cuff repair six weeks ago, without a clearance.
func repaired() *shoulder.Episode {
	e := newEpisode(func(v *visit) {
		v.on("2026-03-02")
		v.active(shoulder.Flexion, "100", "175")
		v.pain(shoulder.PainAtRest, "1")
	})
	e.Repairs = []shoulder.Repair{{Source: 90, Side: shoulder.Right, Date: day("2026-01-19")}}
	return e
}

// ready: even in all positions in two sessions in a row.
func ready() *shoulder.Episode {
	visitOn := func(date string, more string) func(*visit) {
		return func(v *visit) {
			v.on(date)
			for _, r := range shoulder.Trained {
				for _, p := range shoulder.TrainedPositions {
					v.force(r, p, list("96.0", "97.0", more), list("100.0", "101.0", "99.0"))
				}
			}
			v.active(shoulder.Flexion, "170", "172")
			v.active(shoulder.Abduction, "168", "170")
			v.pain(shoulder.PainDuringResistedTest, "0")
			v.pain(shoulder.PainAtRest, "0")
			v.pain(shoulder.PainWorst24h, "1")
		}
	}
	return newEpisode(visitOn("2026-05-04", "95.0"), visitOn("2026-06-01", "98.0"))
}

// corners are invented patients whose records hold what is rare.
func corners() []story {
	return []story{
		{"nothing at all", &shoulder.Episode{Involved: shoulder.Right}, day("2026-03-02"), nil, nil},
		{"side not known", &shoulder.Episode{}, day("2026-03-02"), nil, nil},
		{"manual grades only", graded(), day("2026-03-02"), nil, nil},
		{"other side affected too", affected(), day("2026-03-30"), nil, nil},
		{"torque by lever arms", levered(), day("2026-03-02"), nil, nil},
		{"make against break", unlike(), day("2026-03-02"), nil, nil},
		{"too old", third(), day("2026-12-01"), nil, nil},
		{"comparison side carried forward, free beside supported", carried(), day("2026-02-02"), nil, nil},
		{"fell back", fallen(), day("2026-03-02"), nil, nil},
		{"pain over the limit", painful(), day("2026-03-02"), nil, nil},
		{"repair without a date", undated(), day("2026-03-02"), nil, nil},
		{"cleared early", cleared(true), day("2026-03-02"), nil, nil},
		{"clearance refused", cleared(false), day("2026-03-02"), nil, nil},
		{"twelve visits", twelve(), day("2026-06-22"), nil, nil},
		{"examined since and cleared", examined(), day("2026-03-04"), nil, nil},
		{"sides exchanged", exchanged(), day("2026-03-02"), nil, nil},
		{"another unit", otherUnit(), day("2026-03-02"), nil, nil},
		{"comparison side weaker", weakerComparison(), day("2026-03-02"), nil, nil},
		{"even before", evenBefore(), day("2026-03-02"), nil, nil},
		{"twenty-two weeks after a repair", late(), day("2026-06-01"), nil, nil},
		{"no good side, three visits", noGoodSide(), day("2026-03-30"), nil, nil},
		{"every red flag", alarming(), day("2026-03-02"), nil, nil},
		{"abduction tested too", abducting(), day("2026-03-30"), nil, nil},
		{"an outcome measure that holds", scored(), day("2026-06-01"), nil, clinic()},
	}
}

// abducting: the third visit, with a motion that has no steps.
func abducting() *shoulder.Episode {
	e, source := third(), shoulder.SourceID(800)
	for i, right := range []string{"50.0", "62.0", "70.0"} {
		v := visit{session: e.Sessions[i], sources: &source}
		v.force(shoulder.AbductionMotion, shoulder.Scaption90, list(right), list("80.0"))
		e.Sessions[i] = v.session
	}
	return e
}

// scored: ready but for a score of the clinic, which fell.
func scored() *shoulder.Episode {
	e := ready()
	for i, points := range []string{"71", "48"} {
		e.Sessions[i].Outcomes = []shoulder.Outcome{{Source: shoulder.SourceID(900 + i), Measure: "arm-comfort", Value: exact.MustParse(points)}}
	}
	return e
}

// clinic is a protocol with an invented score that is a gate.
func clinic() *protocol.Protocol {
	p, err := protocol.Load([]byte(`{"id":"score","version":"1","outcomeMeasures":[{"id":"arm-comfort",
		"codes":[{"system":"https://clinic.example/codes","code":"arm-comfort"}],
		"title":{"en":"arm comfort score","de":"Armkomfort-Wert","fr":"score de confort du bras"},"unit":"{points}","minimum":0,"maximum":100,"better":"higher",
		"detectable":{"comparison":">=","value":12,"unit":"{points}","source":"invented"},
		"important":{"comparison":">=","value":15,"unit":"{points}","source":"invented"},
		"gate":{"comparison":">=","value":60,"unit":"{points}","source":"invented"},"source":"invented"}]}`))
	if err != nil {
		panic(err)
	}
	return p
}

// twelve: half a year of re-checks, one more position every few visits.
func twelve() *shoulder.Episode {
	visits := make([]func(*visit), 12)
	for i := range visits {
		visits[i] = func(v *visit) {
			v.session.When = day("2026-01-05").AddDate(0, 0, 15*i)
			for k, p := range shoulder.TrainedPositions {
				if i < 2*k {
					continue
				}
				external, internal := strconv.Itoa(55-6*k+3*i+i%3), strconv.Itoa(70-7*k+3*i-i%4)
				v.force(er, p, list(external, external), list("96", "98"))
				v.force(ir, p, list(internal, internal), list("110", "112"))
			}
			v.active(shoulder.Flexion, strconv.Itoa(120+5*i), "170")
			v.active(shoulder.Abduction, strconv.Itoa(110+5*i), "170")
			v.pain(shoulder.PainDuringResistedTest, strconv.Itoa(max(0, 6-i/2)))
		}
	}
	return newEpisode(visits...)
}

func graded() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-03-02")
		for _, r := range shoulder.Trained {
			for _, g := range [...]shoulder.MuscleGrade{shoulder.Grade4Plus, shoulder.Grade5} {
				v.session.Grades = append(v.session.Grades, shoulder.Grade{Source: v.next(), Motion: r, Position: side, Side: shoulder.Right, Value: g})
			}
		}
		v.session.Grades = append(v.session.Grades, shoulder.Grade{Source: v.next(), Motion: er, Position: flex, Side: shoulder.Right, Value: shoulder.Grade3Plus})
		v.active(shoulder.Flexion, "134.9", "")
		v.active(shoulder.Abduction, "160", "")
		v.pain(shoulder.PainUnstated, "3")
	})
}

func affected() *shoulder.Episode {
	e := third()
	e.ComparisonAffected = true
	return e
}

func levered() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-03-02")
		v.force(er, side, list("100"), list("100"))
		v.session.Levers = []shoulder.Lever{
			{Source: v.next(), Side: shoulder.Right, Metres: exact.MustParse("0.24")},
			{Source: v.next(), Side: shoulder.Left, Metres: exact.MustParse("0.26")},
		}
	})
}

func unlike() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-03-02")
		v.force(er, side, list("100", "101", "150"), nil)
		v.trials(er, side, shoulder.Left, list("146.9"))
		v.session.Trials[len(v.session.Trials)-1].Contraction = shoulder.Break
	})
}

func carried() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-01-05")
		v.force(er, flex, list("80", "82"), list("100", "100"))
	}, func(v *visit) {
		v.on("2026-02-02")
		v.force(er, flex, list("89.96"), nil)
		v.trials(er, flex, shoulder.Right, list("70"))
		v.trials(er, flex, shoulder.Left, list("101"))
		for i := len(v.session.Trials) - 2; i < len(v.session.Trials); i++ {
			v.session.Trials[i].Support = shoulder.Unsupported
		}
	})
}

func fallen() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-02-02")
		v.force(er, side, list("88", "90"), list("100", "100"))
	}, func(v *visit) {
		v.on("2026-03-02")
		v.force(er, side, list("40", "42"), list("100", "100"))
	})
}

func painful() *shoulder.Episode {
	return newEpisode(func(v *visit) {
		v.on("2026-03-02")
		v.force(er, side, list("80", "80"), list("100", "100"))
		v.force(ir, side, list("80", "80"), list("100", "100"))
		v.active(shoulder.Flexion, "95", "170")
		v.active(shoulder.Abduction, "150", "170")
		v.pain(shoulder.PainDuringResistedTest, "7")
	})
}

func undated() *shoulder.Episode {
	e := stiff()
	e.Repairs = []shoulder.Repair{{Source: 90, Side: shoulder.Right}}
	return e
}

func cleared(yes bool) *shoulder.Episode {
	e := stiff()
	e.Repairs = []shoulder.Repair{{Source: 90, Side: shoulder.Right, Date: day("2025-12-15")}}
	e.Clearances = []shoulder.Statement{{Source: 91, When: day("2026-02-23"), Side: shoulder.Right, Cleared: yes}}
	e.Tears = []shoulder.Tear{{Source: 92, Side: shoulder.Right, Centimetres: exact.MustParse("5.5")}}
	return e
}

// examined: the shoulder that fell back was examined two days later.
func examined() *shoulder.Episode {
	e := fallen()
	e.Examinations = []shoulder.Statement{{Source: 95, When: day("2026-03-04"), Side: shoulder.Right, Cleared: true}}
	return e
}

// everywhereAt measures all tests of both sides alike.
func (v *visit) everywhereAt(date, involved, comparison string) {
	v.on(date)
	for _, r := range shoulder.Trained {
		for _, p := range shoulder.TrainedPositions {
			v.force(r, p, list(involved, involved, involved), list(comparison, comparison, comparison))
		}
	}
	v.active(shoulder.Flexion, "170", "172")
	v.active(shoulder.Abduction, "168", "170")
	v.pain(shoulder.PainDuringResistedTest, "1")
	v.pain(shoulder.PainAtRest, "0")
	v.pain(shoulder.PainWorst24h, "2")
}

// fortnightly is one visit a fortnight up to 2026-03-02, each with the strength of both
// sides.
func fortnightly(sides ...[2]string) *shoulder.Episode {
	visits := make([]func(*visit), len(sides))
	for i, s := range sides {
		date := day("2026-03-02").AddDate(0, 0, -14*(len(sides)-1-i)).Format("2006-01-02")
		visits[i] = func(v *visit) { v.everywhereAt(date, s[0], s[1]) }
	}
	return newEpisode(visits...)
}

func exchanged() *shoulder.Episode {
	return fortnightly([2]string{"70", "100"}, [2]string{"100", "70"})
}
func otherUnit() *shoulder.Episode {
	return fortnightly([2]string{"80", "100"}, [2]string{"8.2", "10.2"})
}
func weakerComparison() *shoulder.Episode {
	return fortnightly([2]string{"72", "100"}, [2]string{"72", "100"}, [2]string{"72", "75"})
}

func evenBefore() *shoulder.Episode {
	return fortnightly([2]string{"96", "100"}, [2]string{"95", "100"}, [2]string{"78", "100"})
}

// late: functional work is permitted, and no sport yet.
func late() *shoulder.Episode {
	e := ready()
	e.Repairs = []shoulder.Repair{{Source: 90, Kind: shoulder.RepairBySuture, Side: shoulder.Right, Date: day("2025-12-29")}}
	return e
}

func noGoodSide() *shoulder.Episode {
	e := third()
	e.ComparisonAffected = true
	e.Sessions[2].Grades = append(e.Sessions[2].Grades, shoulder.Grade{
		Source: 96, Motion: er, Position: side, Side: shoulder.Right, Value: shoulder.Grade4,
	})
	return e
}

// alarming raises every red flag at once.
func alarming() *shoulder.Episode {
	e := newEpisode(func(v *visit) {
		v.everywhereAt("2026-02-02", "90", "100")
	}, func(v *visit) {
		v.everywhereAt("2026-03-02", "40", "100")
		v.session.Trials = slices.DeleteFunc(v.session.Trials, func(t shoulder.Trial) bool {
			return t.Motion == er && t.Position == side && t.Side == shoulder.Right
		})
		v.force(er, side, list("0", "0"), nil)
		v.session.Ranges = nil
		v.active(shoulder.Flexion, "60", "172")
		v.session.Ranges = append(v.session.Ranges, shoulder.Range{Source: v.next(), Movement: shoulder.Flexion, Side: shoulder.Right, Degrees: exact.Int(150)})
		v.session.Pains = nil
		v.pain(shoulder.PainDuringResistedTest, "8")
		v.pain(shoulder.PainAtRest, "9")
	})
	e.Repairs = []shoulder.Repair{{Source: 97, Kind: shoulder.RepairOfCuff, Side: shoulder.Right, Date: day("2025-12-29")}}
	e.Permits = []shoulder.Permit{{Source: 98, Side: shoulder.Right, When: day("2026-03-01"), Phase: shoulder.LoadElevated}}
	return e
}
