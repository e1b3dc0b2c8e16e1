package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"evenreach.example/internal/config"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/program"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service"
	"evenreach.example/internal/shoulder"
)

// assessCommand answers one request from a file, by the server's pipeline.
type assessCommand struct {
	File         string `arg:"file" help:"A FHIR R4 Bundle, or Parameters with one, in JSON; - for standard input."`
	InvolvedSide string `name:"involved-side" enum:"right,left" placeholder:"SIDE" help:"The side under treatment, right or left (as the record says)."`
	AsOf         string `name:"as-of" placeholder:"DATE" help:"The time to assess for, a FHIR date or dateTime (the latest measurement)."`
	Output       string `name:"output" enum:"text,pdf,chart,patient,patient-pdf,home,home-pdf,note,note-pdf,transaction,living-transaction,collection,check" default:"text" placeholder:"KIND" help:"For people: text, pdf, chart (SVG), patient (plain language, for a clinician to hand over), home (the home programme), note (progress since the first visit), or these for printing, patient-pdf, home-pdf and note-pdf. FHIR: transaction, living-transaction, collection or check (${default}). An output among the file's Parameters does not count."`
	Language     string `name:"language" enum:"en,de,fr" default:"en" placeholder:"TAG" help:"Language of the texts, en, de or fr (${default})."`
	Force        string `name:"force" enum:"N,kgf,lbf" default:"N" placeholder:"UNIT" help:"Unit in which texts show a force: N, kgf or lbf (${default})."`
	Protocol     string `name:"protocol" placeholder:"FILE" help:"The clinic's own protocol (the built-in one)."`
	CodeMap      string `name:"code-map" placeholder:"FILE" help:"A FHIR R4 ConceptMap of the site's own codes."`
	Full         bool   `name:"full" help:"With text or pdf: also how everything was worked out, all cautions and all sources."`
	Paper        string `name:"paper" enum:"a4,letter" default:"a4" placeholder:"SIZE" help:"Size of the pages of a PDF, a4 or letter (${default})."`
	Pretty       bool   `name:"pretty" help:"Indent the JSON."`
}

// outputs are the kinds of FHIR answer. What is for people is written from the
// assessment; see documents.
var outputs = map[string]record.Output{
	"transaction": record.Transaction,
	"collection":  record.Collection,
	"check":       record.Check,

	"living-transaction": record.LivingTransaction,
}

// Run assesses the file. Problems go to the standard error stream.
func (c assessCommand) Run(ctx context.Context, std program.Streams) error {
	pipeline, err := c.pipeline()
	if err != nil {
		return program.UsageError(err)
	}
	body, err := c.read(std.In)
	if err != nil {
		return program.UsageError(err)
	}
	answer, err := c.answer(ctx, pipeline, body)
	if refused, ok := errors.AsType[*fault.Errors](err); ok {
		return fmt.Errorf("%s is refused:\n%s", c.File, list(refused.Issues))
	}
	if err != nil {
		return err
	}
	return c.write(std, answer)
}

func (c assessCommand) pipeline() (*service.Pipeline, error) {
	protocols, protocolErr := config.Protocols(c.Protocol)
	codes, codesErr := config.ReadCodeMap(c.CodeMap)
	if err := errors.Join(protocolErr, codesErr); err != nil {
		return nil, err
	}
	pipeline := program.Pipeline(protocols, codes)
	pipeline.Words = c.words()
	return pipeline, nil
}

// read reads the file, one byte further than the limit, which the decoder then
// finds exceeded.
func (c assessCommand) read(in io.Reader) ([]byte, error) {
	if c.File != "-" {
		file, err := os.Open(c.File)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		in = file
	}
	return io.ReadAll(io.LimitReader(in, int64(fhir.DefaultLimits.Bytes)+1))
}

func (c assessCommand) answer(ctx context.Context, p *service.Pipeline, body []byte) (*service.Answer, error) {
	request, err := service.Decode(body)
	if err != nil {
		return nil, err
	}
	request.Output = record.Collection
	if output, isFHIR := outputs[c.Output]; isFHIR {
		request.Output = output
	}
	if c.AsOf != "" {
		request.AsOf = c.AsOf
	}
	switch c.InvolvedSide {
	case "right":
		request.Involved = shoulder.Right
	case "left":
		request.Involved = shoulder.Left
	}
	return p.Run(ctx, request)
}

// write writes the answer. What was left out of the input is told beside a
// transaction, which has no place for it.
func (c assessCommand) write(std program.Streams, answer *service.Answer) error {
	if write, isDocument := documents[c.Output]; isDocument {
		document, err := write(answer, c)
		if err != nil {
			return err
		}
		_, err = std.Out.Write(document)
		return err
	}
	if strings.HasSuffix(c.Output, "transaction") && len(answer.Issues) > 0 {
		fmt.Fprintf(std.Err, "evenreach: about the input of %s:\n%s\n", c.File, list(answer.Issues))
	}
	body := fhirjson.Encode(answer.Resource())
	if c.Pretty {
		body = fhirjson.Indent(body)
	}
	_, err := fmt.Fprintf(std.Out, "%s\n", body)
	return err
}

// list writes issues for a terminal, one a line: how grave, where, what was
// expected and what was found.
func list(issues []fault.Issue) string {
	lines := make([]string, len(issues))
	for i, issue := range issues {
		line := "  " + issue.Severity.String() + ": "
		if issue.Path != "" {
			line += issue.Path + ": "
		}
		line += issue.Kind.Display()
		if issue.Detail != "" {
			line += ": " + issue.Detail
		}
		if issue.Diagnostic != "" {
			line += " (" + issue.Diagnostic + ")"
		}
		lines[i] = line
	}
	return strings.Join(lines, "\n")
}
