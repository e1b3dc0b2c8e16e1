package fhir

import (
	"evenreach.example/internal/fault"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

func (w *messageWriter) str(s string) *dpb.String {
	if s == "" {
		return nil
	}
	p := w.made.texts.One()
	p.Value = s
	return p
}

func (w *messageWriter) code(s string) *dpb.Code {
	if s == "" {
		return nil
	}
	p := w.made.codes.One()
	p.Value = s
	return p
}

func (w *messageWriter) uri(s string) *dpb.Uri {
	if s == "" {
		return nil
	}
	p := w.made.uris.One()
	p.Value = s
	return p
}

func markdownOf(s string) *dpb.Markdown {
	if s == "" {
		return nil
	}
	return &dpb.Markdown{Value: s}
}

func idOf(s string) *dpb.Id {
	if s == "" {
		return nil
	}
	return &dpb.Id{Value: s}
}

func canonicalOf(s string) *dpb.Canonical {
	if s == "" {
		return nil
	}
	return &dpb.Canonical{Value: s}
}

func xhtmlOf(s string) *dpb.Xhtml {
	if s == "" {
		return nil
	}
	return &dpb.Xhtml{Value: s}
}

func (w *messageWriter) uris(texts []string) []*dpb.Uri { return mapped(texts, w.uri) }

func (w *messageWriter) strings(texts []string) []*dpb.String { return mapped(texts, w.str) }

func canonicalsOf(texts []string) []*dpb.Canonical { return mapped(texts, canonicalOf) }

// mapped writes a repeated primitive.
func mapped[P any](texts []string, convert func(string) *P) []*P {
	if len(texts) == 0 {
		return nil
	}
	ps := make([]*P, 0, len(texts))
	for _, text := range texts {
		if p := convert(text); p != nil {
			ps = append(ps, p)
		}
	}
	return ps
}

func (w *messageWriter) decimal(name string, d Decimal) *dpb.Decimal {
	if d == "" {
		return nil
	}
	if !isNumber(string(d)) {
		w.report(fault.Internal, name, "found no decimal to write; expected one")
	}
	p := w.made.decimals.One()
	p.Value = string(d)
	return p
}

func (w *messageWriter) date(name, text string) *dpb.Date {
	m, ok := w.moment(name, text, toYear, toDay)
	if !ok {
		return nil
	}
	return &dpb.Date{ValueUs: m.micros, Timezone: m.zone, Precision: dpb.Date_Precision(indexOf(datePrecisions[:], m.precision))}
}

func (w *messageWriter) dateTime(name, text string) *dpb.DateTime {
	m, ok := w.moment(name, text, toYear, toMicrosecond)
	if !ok {
		return nil
	}
	return &dpb.DateTime{ValueUs: m.micros, Timezone: m.zone, Precision: dpb.DateTime_Precision(indexOf(dateTimePrecisions[:], m.precision))}
}

func (w *messageWriter) instant(name, text string) *dpb.Instant {
	m, ok := w.moment(name, text, toSecond, toMicrosecond)
	if !ok {
		return nil
	}
	return &dpb.Instant{ValueUs: m.micros, Timezone: m.zone, Precision: dpb.Instant_Precision(indexOf(instantPrecisions[:], m.precision))}
}

// moment reads the text of a time that must have a precision within bounds.
func (w *messageWriter) moment(name, text string, least, most precision) (m moment, ok bool) {
	if text == "" {
		return m, false
	}
	m, ok = parseMoment(text)
	if !ok || m.precision < least || m.precision > most {
		w.report(fault.Internal, name, "found no time of its type to write; expected one")
		return m, false
	}
	return m, true
}

// messageCode finds the enum value of a code with a required binding. It reports
// false if there is no code, and notes one that is not in the value set.
func messageCode[E enum](w *messageWriter, name, text string, table codes[E]) (value E, ok bool) {
	if text == "" {
		return value, false
	}
	value, ok = table.value(text)
	if !ok {
		w.report(fault.Internal, name, "found a code that is not in the value set; expected one that is")
	}
	return value, ok
}
