package wording

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// AsOf says for which day an assessment holds.
func (c *Catalogue) AsOf(t time.Time) string { return c.fill(c.phrases.asOf, c.Date(t)) }

// Foot is the footer of a page: the title, the day, and the number of the page.
func (c *Catalogue) Foot(title string, asOf time.Time, page, pages int) string {
	return c.fill(c.phrases.foot, title, c.AsOf(asOf), strconv.Itoa(page), strconv.Itoa(pages))
}

// Sides says which side is the involved one.
func (c *Catalogue) Sides(involved shoulder.Side) string {
	return c.fill(c.phrases.sides, c.Side(involved), c.Side(involved.Other()))
}

// shownDigest is how many digits of a protocol's digest are printed: enough to distinguish
// two protocols.
const shownDigest = 12

// Protocol names the protocol with its version and the beginning of its digest.
func (c *Catalogue) Protocol(r protocol.Ref) string {
	return c.fill(c.phrases.protocol, r.ID, r.Version, r.Digest[:min(len(r.Digest), shownDigest)])
}

// IrritabilityLine says how irritable the shoulder is.
func (c *Catalogue) IrritabilityLine(i plan.Irritability) string {
	return c.fill(c.phrases.irritability, c.Irritability(i))
}

// AtVisit is the heading, a sentence, of what to measure or do: at the next visit or,
// while a red flag holds, at once.
func (c *Catalogue) AtVisit(p *plan.Plan) string { return c.Sentence(c.first(p)) }

func (c *Catalogue) first(p *plan.Plan) string {
	if p.Examine {
		return c.phrases.atOnce
	}
	return c.phrases.atVisit
}

// Recheck says when to measure again or, while a red flag holds, by when to examine:
// a sentence.
func (c *Catalogue) Recheck(p *plan.Plan) string {
	if p.Examine {
		return c.sentence(c.phrases.examineBy, c.Date(p.Recheck.To))
	}
	phrase := [...]string{plan.NotSooner: c.phrases.recheck, plan.AfterFall: c.phrases.recheckFall, plan.AfterRangeFall: c.phrases.recheckRange, plan.AfterDoubt: c.phrases.recheckDoubt}
	return c.sentence(phrase[p.Sooner], c.Date(p.Recheck.From), c.Date(p.Recheck.To))
}

// shownPaths is how many paths of one kind of issue are listed.
const shownPaths = 3

// Issues lists what was dropped, corrected or missing in the input: sentences. Equal
// issues are merged, with the first paths. Details are in English, as in an
// OperationOutcome, and are left out in other languages.
func (c *Catalogue) Issues(issues []fault.Issue) []string {
	if len(issues) == 0 {
		return []string{c.phrases.inputClean}
	}
	type finding struct {
		kind   fault.Kind
		detail string
	}
	var order []finding
	places := map[finding][]string{}
	for _, issue := range issues {
		f := finding{kind: issue.Kind}
		if c.language == englishTag {
			f.detail = issue.Detail
		}
		if _, known := places[f]; !known {
			order = append(order, f)
		}
		places[f] = append(places[f], issue.Path)
	}
	lines := make([]string, len(order))
	for i, f := range order {
		lines[i] = c.issue(f.kind, f.detail, places[f])
	}
	return lines
}

// IssueText is what an issue says to people, and what it says to whoever mends the input:
// the latter is in English and, for readers of English, a part of the former.
func (c *Catalogue) IssueText(i *fault.Issue) (text, diagnostics string) {
	switch {
	case c.language == englishTag:
		return i.Detail, i.Diagnostic
	case i.Diagnostic == "":
		return c.Kind(i.Kind), i.Detail
	}
	return c.Kind(i.Kind), i.Detail + " (" + i.Diagnostic + ")"
}

// InputClean says that there is no issue.
func (c *Catalogue) InputClean() string { return c.phrases.inputClean }

// IssuesInBrief names what was dropped, each with its kind of issue, and then each other
// kind once, with how often it was found: sentences.
func (c *Catalogue) IssuesInBrief(issues []fault.Issue) (lines []string) {
	var order []fault.Kind
	times := map[fault.Kind]int{}
	for i := range issues {
		issue := &issues[i]
		if named := c.about(&issue.Subject); named != "" {
			if line := c.sentence(c.phrases.labelled, named, c.Kind(issue.Kind)); !slices.Contains(lines, line) {
				lines = append(lines, line)
			}
			continue
		}
		if times[issue.Kind] == 0 {
			order = append(order, issue.Kind)
		}
		times[issue.Kind]++
	}
	for _, kind := range order {
		if n := times[kind]; n > 1 {
			lines = append(lines, c.sentence(c.phrases.times, c.Kind(kind), strconv.Itoa(n)))
			continue
		}
		lines = append(lines, c.Sentence(c.Kind(kind)))
	}
	return lines
}

// about names what an issue is about, with its date: "worst pain in 24 hours of
// 2026-06-01". It is empty if that is not known.
func (c *Catalogue) about(s *fault.Subject) (name string) {
	switch s.Kind {
	case fault.OfStrength:
		name = c.fill(c.phrases.strengthOf, c.MotionAt(s.Motion, s.Position))
	case fault.OfGrade:
		name = c.fill(c.phrases.gradeOf, c.MotionAt(s.Motion, s.Position))
	case fault.OfRange:
		name = c.RangeOf(s.Movement, s.Active, s.Position)
	case fault.OfPain:
		name = c.PainOf(s.Context, s.Position)
	case fault.OfSteadiness:
		name = c.fill(c.phrases.steadinessOf, c.at(s.Position))
	case fault.OfLoad:
		name = c.phrases.loadStatement
	case fault.OfProcedure:
		name = c.phrases.procedure
		if s.CodeSystem != "" {
			name = c.fill(c.phrases.withReason, name, s.CodeSystem)
		}
	default:
		return ""
	}
	if s.When.IsZero() {
		return name
	}
	return c.fill(c.phrases.ofDate, name, c.Date(s.When))
}

func (c *Catalogue) issue(k fault.Kind, detail string, paths []string) string {
	text := c.Kind(k)
	if detail != "" {
		text = c.fill(c.phrases.labelled, text, strings.TrimSuffix(detail, c.phrases.stop))
	}
	if paths[0] == "" {
		return c.Sentence(text)
	}
	named := c.list(paths[:min(len(paths), shownPaths)])
	if more := len(paths) - shownPaths; more > 0 {
		named = c.fill(c.phrases.issueMore, named, strconv.Itoa(more))
	}
	return c.sentence(c.phrases.issueAt, text, named)
}

// IntervalHead heads the column of intervals: "90 % interval".
func (c *Catalogue) IntervalHead(confidence protocol.Setting) string {
	return c.fill(c.Headings.Interval, c.Amount(confidence))
}
