package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/go-json-experiment/json/jsontext"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/assess"
	"evenreach.example/internal/course"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service"
	"evenreach.example/internal/service/encoded"
)

// comparison sets contenders against the first of them.
type comparison struct {
	title      string
	contenders []contender
	wanted     string // what the ratio of the second to the first should be
}

// parts measures the parts of a request in this process.
func parts(_ context.Context, s settings) error {
	for _, c := range corpus() {
		w, err := newWork(c.body)
		if err != nil {
			return err
		}
		heading(fmt.Sprintf("Parts: %s, %d bytes", c.name, len(c.body)), "part", "microseconds", "against the first", "wanted of the second")
		for _, comparison := range w.comparisons() {
			if err := comparison.print(s.seconds); err != nil {
				return fmt.Errorf("%s: %w", comparison.title, err)
			}
		}
	}
	return nil
}

func (c comparison) print(each time.Duration) error {
	times, err := race(c.contenders, each)
	if err != nil {
		return err
	}
	for i, contender := range c.contenders {
		wanted := ""
		if i == 1 {
			wanted = c.wanted
		}
		row(c.title+": "+contender.name, fmt.Sprintf("%.1f", float64(times[i].Nanoseconds())/1000), fmt.Sprintf("%.2f", float64(times[i])/float64(times[0])), wanted)
	}
	return nil
}

// work is a request at each of its stages.
type work struct {
	body     []byte
	pipeline *service.Pipeline
	request  service.Request
	reading  *intake.Reading
	assessed *assess.Assessment
	answer   *fhir.Bundle
	plain    any                         // the request as structs for encoding/json, nil if they do not hold it all
	question []byte                      // the request as protocol buffers
	reply    *evenreachv1.AssessResponse // the answer as messages
	out      []byte                      // memory for the answer, used again as the service does
}

func newWork(body []byte) (*work, error) {
	w := &work{body: body, pipeline: newPipeline()}
	var err error
	if w.request, err = service.Decode(body); err != nil {
		return nil, err
	}
	if w.reading, err = w.read(); err != nil {
		return nil, err
	}
	w.assessed = w.assess()
	w.answer = w.record()
	w.plain = fhirtest.Plain(body)
	bundle, err := bundleMessage(w.request.Bundle)
	if err != nil {
		return nil, err
	}
	if w.question, err = proto.Marshal(&evenreachv1.AssessRequest{Bundle: bundle}); err != nil {
		return nil, err
	}
	reply, err := w.byMessage()
	if err != nil {
		return nil, err
	}
	w.reply = new(evenreachv1.AssessResponse)
	return w, proto.Unmarshal(reply, w.reply)
}

// bundleMessage is a Bundle as messages.
func bundleMessage(b *fhir.Bundle) (*bcrpb.Bundle, error) {
	written, err := fhirproto.Append(nil, b)
	if err != nil {
		return nil, err
	}
	message := new(bcrpb.Bundle)
	return message, proto.Unmarshal(written, message)
}

func (w *work) read() (*intake.Reading, error) {
	return intake.Read(intake.Input{Bundle: w.request.Bundle, Root: w.request.Root, Received: time.Now()})
}

func (w *work) assess() *assess.Assessment {
	return assess.Assess(&w.reading.Episode, w.pipeline.Protocols[0], w.reading.AsOf)
}

// model is what the assessment asks of the model of the course: all sessions, and those before the
// latest once more.
func (w *work) model() {
	e, p := &w.reading.Episode, w.pipeline.Protocols[0]
	course.Episode(e, w.assessed.Measurements, p).AllEvenBefore(e.Latest(), w.reading.AsOf)
}

func (w *work) record() *fhir.Bundle {
	return record.Build(w.assessed, w.reading, record.Options{})
}

// byMessage answers as gRPC does, from bytes to bytes.
func (w *work) byMessage() ([]byte, error) {
	message := new(encoded.AssessRequest)
	if err := proto.Unmarshal(w.question, message); err != nil {
		return nil, err
	}
	request, err := service.FromMessage(message)
	if err != nil {
		return nil, err
	}
	answer, err := w.pipeline.Run(context.Background(), request)
	if err != nil {
		return nil, err
	}
	reply, err := answer.Message()
	if err != nil {
		return nil, err
	}
	return proto.Marshal(reply)
}

// comparisons are what the parts are held against.
func (w *work) comparisons() []comparison {
	all := []comparison{
		{"decode", []contender{
			{"tokens of jsontext alone", func() error { return tokenise(w.body) }},
			{"wire model", func() error { _, err := fhirjson.Decode(w.body, fhir.DefaultLimits); return err }},
			{"jsonformat", func() error { return jsonformatUnmarshal(w.body) }},
		}, "1.8"},
		{"whole request", []contender{
			{"JSON to JSON", w.whole},
			{"assessment alone", func() error { w.assess(); return nil }},
			{"intake alone", func() error { _, err := w.read(); return err }},
			{"resources and texts alone", func() error { w.record(); return nil }},
		}, "0.05"},
		{"assessment", []contender{
			{"with the model of the course", func() error { w.assess(); return nil }},
			{"the model alone", func() error { w.model(); return nil }},
		}, ""},
		{"protocol buffers", []contender{
			{"unmarshal and marshal alone", func() error {
				if err := proto.Unmarshal(w.question, new(evenreachv1.AssessRequest)); err != nil {
					return err
				}
				_, err := proto.Marshal(w.reply)
				return err
			}},
			{"message to message", func() error { _, err := w.byMessage(); return err }},
		}, "1.4"},
	}
	if w.plain != nil {
		out := make([]byte, 0, 1<<20)
		all = append(all, comparison{"encode", []contender{
			{"encoding/json", func() error { _, err := json.Marshal(w.plain); return err }},
			{"wire model", func() error { out = fhirjson.AppendResource(out[:0], w.request.Bundle); return nil }},
		}, "1.5"})
	}
	return all
}

// whole is a request from bytes to bytes, without HTTP.
func (w *work) whole() error { return w.within(fhir.DefaultLimits) }

// within is whole, with limits of its own.
func (w *work) within(limits fhir.Limits) error {
	resource, err := fhirjson.Decode(w.body, limits)
	if err != nil {
		return err
	}
	answer, err := w.pipeline.Run(context.Background(), service.Request{Bundle: resource.(*fhir.Bundle), Root: "Bundle"})
	if err != nil {
		return err
	}
	w.out = fhirjson.AppendResource(w.out[:0], answer.Resource())
	return nil
}

// tokenise reads every token of JSON and does nothing with it.
func tokenise(body []byte) error {
	decoder := jsontext.NewDecoder(bytes.NewBuffer(body))
	for {
		if _, err := decoder.ReadToken(); err != nil {
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
	}
}
