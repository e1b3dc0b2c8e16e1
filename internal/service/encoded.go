package service

import (
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
)

// An answer holds up to thousands of FHIR messages, which nobody in this process
// reads. So it is encoded directly, and the bytes are put into the response as unknown
// fields, which proto.Marshal copies: every client decodes the usual fields. Within
// this process they read as absent; to read them, marshal the response and unmarshal
// it again.

// The fields of the contract that are written as bytes.
const (
	responseBundle  protowire.Number = 1
	responseOutcome protowire.Number = 2
	refusalOutcome  protowire.Number = 2
)

// setEncoded gives a message fields that are bytes already.
func setEncoded(m proto.Message, fields []byte) { m.ProtoReflect().SetUnknown(fields) }

// appendEncoded appends a resource as a field, unless it is nil.
func appendEncoded[T any](fields []byte, number protowire.Number, resource *T, write func([]byte, *T) ([]byte, error)) ([]byte, error) {
	if resource == nil {
		return fields, nil
	}
	out := replies.Get().(*reply)
	defer out.release()
	var err error
	if out.bytes, err = write(out.bytes[:0], resource); err != nil {
		return nil, err
	}
	return protowire.AppendBytes(protowire.AppendTag(fields, number, protowire.BytesType), out.bytes), nil
}
