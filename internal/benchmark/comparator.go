package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"

	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/service"
)

// serveComparator serves until it is killed.
func serveComparator(role string) error {
	answer, err := comparator(role)
	if err != nil {
		return err
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

// comparator is what a handler does with a body.
func comparator(role string) (func([]byte) ([]byte, error), error) {
	pipeline := newPipeline()
	request, err := service.Decode(fhirtest.Bundle60())
	if err != nil {
		return nil, err
	}
	answer, err := pipeline.Run(context.Background(), request)
	if err != nil {
		return nil, err
	}
	response := fhirjson.Encode(answer.Resource())
	switch role {
	case "noop":
		return func(body []byte) ([]byte, error) { return response, tokenise(body) }, nil
	case "decode":
		return func(body []byte) ([]byte, error) { return response, jsonformatUnmarshal(body) }, nil
	case "jsonformat":
		return func(body []byte) ([]byte, error) { return byJsonformat(pipeline, body) }, nil
	}
	return nil, fmt.Errorf("no role %q", role)
}

// byJsonformat is the same service with jsonformat on both ends.
func byJsonformat(pipeline *service.Pipeline, body []byte) ([]byte, error) {
	contained, err := unmarshalByJsonformat(body)
	if err != nil {
		return nil, err
	}
	written, err := proto.Marshal(contained.GetBundle())
	if err != nil {
		return nil, err
	}
	bundle, err := fhirproto.Read(written)
	if err != nil {
		return nil, err
	}
	answer, err := pipeline.Run(context.Background(), service.Request{Bundle: bundle, Root: "Bundle"})
	if err != nil {
		return nil, err
	}
	message, err := bundleMessage(answer.Bundle)
	if err != nil {
		return nil, err
	}
	marshaller, err := jsonformat.NewMarshaller(false, "", "", fhirversion.R4)
	if err != nil {
		return nil, err
	}
	return marshaller.MarshalResource(message)
}

func unmarshalByJsonformat(body []byte) (*bcrpb.ContainedResource, error) {
	unmarshaller, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		return nil, err
	}
	return unmarshaller.UnmarshalR4(body)
}

func jsonformatUnmarshal(body []byte) error {
	_, err := unmarshalByJsonformat(body)
	return err
}
