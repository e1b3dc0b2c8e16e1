package service

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/wording"
)

// A preference is how a caller wants to read, beside what a request itself says.
type preference struct {
	language string
	force    string
}

type preferenceKey struct{}

func preferenceFrom(ctx context.Context) preference {
	p, _ := ctx.Value(preferenceKey{}).(preference)
	return p
}

// forceUnitMetadata is the metadata of an RPC that names the unit in which texts show forces, for all its messages that do
// not say so themselves.
const forceUnitMetadata = "force-unit"

// withLanguage notes the language that the values of the header Accept-Language prefer among
// those that there are; none where they name no other, as a server may.
//
// Source: RFC 9110, section 12.5.4.
func withLanguage(ctx context.Context, accept []string) context.Context {
	best, bestQuality := "", 0.0
	for _, r := range parseRanges(strings.Join(accept, ",")) {
		if r.quality > bestQuality && wording.Has(r.name) {
			best, bestQuality = r.name, r.quality
		}
	}
	if best == "" {
		return ctx
	}
	p := preferenceFrom(ctx)
	p.language = best
	return context.WithValue(ctx, preferenceKey{}, p)
}

// withForce notes the unit of forces that a caller asks for.
func withForce(ctx context.Context, values []string) context.Context {
	if len(values) == 0 {
		return ctx
	}
	p := preferenceFrom(ctx)
	p.force = values[0]
	return context.WithValue(ctx, preferenceKey{}, p)
}

// preferring fills in what a request leaves to the caller's preference. A unit that is none
// is a problem of the request.
func preferring(ctx context.Context, q Request) Request {
	p := preferenceFrom(ctx)
	if q.Language == "" {
		q.Language = p.language
	}
	if q.Force != "" || p.force == "" {
		return q
	}
	q.Force = p.force
	if problem := forceProblem(p.force); problem != "" {
		q.Problems = append(slices.Clip(q.Problems), badText(forceUnitMetadata, problem, p.force))
	}
	return q
}

// languageProblem says what was expected of a language; empty if it is one of those that there are.
func languageProblem(text string) string {
	if wording.Has(text) {
		return ""
	}
	return "expected one of " + strings.Join(wording.Languages(), ", ") + ", as a tag of BCP 47"
}

// forceProblem says what was expected of a unit of forces; empty if it is one of those that there are.
func forceProblem(text string) string {
	if slices.Contains(wording.ForceUnits(), text) {
		return ""
	}
	return "expected one of " + strings.Join(wording.ForceUnits(), ", ")
}

// badText is the problem of a text outside of what was sent as FHIR.
func badText(name, expected, found string) fault.Issue {
	return fault.Issue{Severity: fault.Error, Kind: fault.BadParameter, Detail: name + ": " + expected, Diagnostic: fmt.Sprintf("found %.80q", found)}
}
