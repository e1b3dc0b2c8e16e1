package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
)

// serveComparator serves until it is killed.
func serveComparator(role string) error {
	response, err := sampleResponse()
	if err != nil {
		return err
	}
	marshal, err := jsonformatMarshal(response)
	if err != nil {
		return err
	}
	answer := map[string]func([]byte) ([]byte, error){
		"noop":   func(body []byte) ([]byte, error) { return response, tokenise(body) },
		"decode": func(body []byte) ([]byte, error) { return response, jsonformatUnmarshal(body) },
		"jsonformat": func(body []byte) ([]byte, error) {
			if err := jsonformatUnmarshal(body); err != nil {
				return nil, err
			}
			return marshal()
		},
	}[role]
	if answer == nil {
		return fmt.Errorf("no role %q", role)
	}
	handler := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err == nil {
			body, err = answer(body)
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		w.Header().Set("Content-Type", "application/fhir+json")
		_, _ = w.Write(body)
	})
	server := &http.Server{Addr: comparatorAddress, Handler: handler, ReadHeaderTimeout: 5 * time.Second}
	return server.ListenAndServe()
}

// sampleResponse is what the service answers to the measured Bundle.
func sampleResponse() ([]byte, error) {
	pipeline := &service.Pipeline{Protocols: service.Protocols{protocol.Default()}, Now: time.Now}
	request, err := service.Decode(fhirtest.Bundle60())
	if err != nil {
		return nil, err
	}
	answer, err := pipeline.Run(context.Background(), request)
	if err != nil {
		return nil, err
	}
	return fhir.Encode(answer.Resource()), nil
}

func tokenise(body []byte) error {
	decoder := jsontext.NewDecoder(bytes.NewReader(body))
	for {
		if _, err := decoder.ReadToken(); err != nil {
			if errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
	}
}

func jsonformatUnmarshal(body []byte) error {
	unmarshaller, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		return err
	}
	_, err = unmarshaller.UnmarshalR4(body)
	return err
}

// jsonformatMarshal writes the response, whose messages are made beforehand.
func jsonformatMarshal(response []byte) (func() ([]byte, error), error) {
	resource, err := fhir.Decode(response, fhir.DefaultLimits)
	if err != nil {
		return nil, err
	}
	bundle, err := fhir.ToProto(resource.(*fhir.Bundle))
	if err != nil {
		return nil, err
	}
	marshaller, err := jsonformat.NewMarshaller(false, "", "", fhirversion.R4)
	if err != nil {
		return nil, err
	}
	return func() ([]byte, error) { return marshaller.MarshalResource(bundle) }, nil
}
