package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"evenreach.example/internal/batch"
	"evenreach.example/internal/config"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/program"
	"evenreach.example/internal/service"
)

// batchCommand answers many requests by the server's pipeline.
type batchCommand struct {
	Files    []string `arg:"file" help:"Files with a request each, or with one a line (.ndjson); either may be compressed (.gz). Without any, one a line from standard input."`
	Output   string   `name:"output" enum:"transaction,living-transaction,collection,check" default:"transaction" placeholder:"KIND" help:"transaction, living-transaction, collection or check (${default})."`
	Protocol string   `name:"protocol" placeholder:"FILE" help:"The clinic's own protocol (the built-in one)."`
	CodeMap  string   `name:"code-map" placeholder:"FILE" help:"A FHIR R4 ConceptMap of the site's own codes."`
	Workers  int      `name:"workers" placeholder:"N" help:"Requests answered at a time (the number of cores)."`
}

// Run writes one line of NDJSON a request to standard output, in their order,
// and the count to standard error.
func (c batchCommand) Run(ctx context.Context, std program.Streams) error {
	protocols, protocolErr := config.Protocols(c.Protocol)
	codes, codesErr := config.ReadCodeMap(c.CodeMap)
	if err := errors.Join(protocolErr, codesErr, areThere(c.Files)); err != nil {
		return program.UsageError(err)
	}
	source := batch.Lines(std.In)
	if len(c.Files) > 0 {
		source = batch.Files(c.Files)
	}
	begun := time.Now()
	options := batch.Options{Workers: c.Workers, Progress: progress(std.Err, begun)}
	summary, err := batch.Run(ctx, source, std.Out, c.answerer(program.Pipeline(protocols, codes)), options)
	fmt.Fprintf(std.Err, "\revenreach: %d answered, %d refused in %v\n", summary.Answered, summary.Refused, time.Since(begun).Round(time.Millisecond))
	return err
}

// areThere reports every file that is not, before an hour's work is done for the others.
func areThere(files []string) error {
	var missing []error
	for _, name := range files {
		_, err := os.Stat(name)
		missing = append(missing, err)
	}
	return errors.Join(missing...)
}

func (c batchCommand) answerer(p *service.Pipeline) batch.Answerer {
	return func(ctx context.Context, body []byte) (fhir.Resource, error) {
		request, err := service.Decode(body)
		if err != nil {
			return nil, err
		}
		request.Output = outputs[c.Output]
		answer, err := p.Run(ctx, request)
		if err != nil {
			return nil, err
		}
		return answer.Resource(), nil
	}
}

// progress shows the count where a person watches: on a terminal, and nowhere
// else.
func progress(out io.Writer, begun time.Time) func(batch.Summary) {
	if !program.IsTerminal(out) {
		return nil
	}
	return func(s batch.Summary) {
		rate := float64(s.Total()) / time.Since(begun).Seconds()
		fmt.Fprintf(out, "\r%d answered, %d refused, %.0f a second ", s.Answered, s.Refused, rate)
	}
}
