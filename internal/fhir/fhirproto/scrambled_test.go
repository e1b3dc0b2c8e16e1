package fhirproto_test

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirproto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"pgregory.net/rapid"
)

// The oracle of this file is proto.Unmarshal: what it merges of fields in any order and
// number must be what is read of them.

func TestReadMergesAsUnmarshalDoes(t *testing.T) {
	for i, b := range append(storyBundles(t), bundleOf(samples())) {
		checkMerged(t, scrambled(written(t, b), uint64(i)))
	}
}

func TestReadMergesProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := bundles().Draw(t, "bundle")
		checkMerged(t, scrambled(written(t, b), rapid.Uint64().Draw(t, "seed")))
	})
}

// checkMerged checks that bytes are read as what proto.Unmarshal makes of them and
// proto.Marshal writes again, with the same problems.
func checkMerged(t tester, data []byte) {
	t.Helper()
	m := new(bcrpb.Bundle)
	if err := proto.Unmarshal(data, m); err != nil {
		return
	}
	canonical, err := proto.Marshal(m)
	if err != nil {
		t.Fatalf("Marshal: %v", err)
	}
	for _, read := range []func(...[]byte) (*fhir.Bundle, error){fhirproto.Read, fhirproto.ReadInput} {
		got, gotErr := read(data)
		want, wantErr := read(canonical)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("(-merged +as it is):\n%s", diff)
		}
		if isMalformed(gotErr) {
			t.Errorf("%v, want what proto.Unmarshal reads", gotErr)
		}
		if diff := cmp.Diff(issues(wantErr), issues(gotErr)); diff != "" {
			t.Errorf("problems (-merged +as it is):\n%s", diff)
		}
	}
}

// issues are those of a refusal.
func issues(err error) []fault.Issue {
	if refused, ok := errors.AsType[*fault.Errors](err); ok {
		return refused.Issues
	}
	return nil
}

// isMalformed reports whether bytes were refused as no protocol buffers.
func isMalformed(err error) bool {
	return slices.ContainsFunc(issues(err), func(i fault.Issue) bool { return i.Kind == fault.Syntax })
}

// scrambled is an encoded Bundle whose messages have fields twice, in parts and in
// another order, fields of other types of the same choice, and fields that nobody knows.
func scrambled(data []byte, seed uint64) []byte {
	r := rand.New(rand.NewPCG(seed, 0))
	s := scrambler{r, 1 << (3 + r.IntN(8))}
	return s.message((*bcrpb.Bundle)(nil).ProtoReflect().Descriptor(), data)
}

type scrambler struct {
	*rand.Rand
	rarity int
}

// seldom is true once in so many times.
func (s scrambler) seldom() bool { return s.IntN(s.rarity) == 0 }

func (s scrambler) message(d protoreflect.MessageDescriptor, data []byte) []byte {
	var fields [][]byte
	for len(data) > 0 {
		number, _, n := protowire.ConsumeField(data)
		fields = append(fields, s.field(d.Fields().ByNumber(number), data[:n])...)
		data = data[n:]
	}
	if s.seldom() {
		fields = append(fields, s.unknown(d))
	}
	if s.seldom() {
		s.Shuffle(len(fields), func(i, j int) { fields[i], fields[j] = fields[j], fields[i] })
	}
	return bytes.Join(fields, nil)
}

// field is what becomes of one field.
func (s scrambler) field(f protoreflect.FieldDescriptor, field []byte) [][]byte {
	if f == nil || f.Message() == nil {
		if s.seldom() {
			return [][]byte{field, field}
		}
		return [][]byte{field}
	}
	number, kind, n := protowire.ConsumeTag(field)
	holds, _ := protowire.ConsumeBytes(field[n:])
	holds = s.message(f.Message(), holds)
	parts := [][]byte{holds}
	if s.seldom() {
		parts = s.parts(holds)
	}
	if o := f.ContainingOneof(); o != nil && s.seldom() {
		other := o.Fields().Get(s.IntN(o.Fields().Len())).Number()
		return [][]byte{field, protowire.AppendBytes(protowire.AppendTag(nil, other, kind), nil), field}
	}
	for i := range parts {
		parts[i] = protowire.AppendBytes(protowire.AppendTag(nil, number, kind), parts[i])
	}
	return parts
}

// parts cuts a message in two, between two of its fields.
func (s scrambler) parts(data []byte) [][]byte {
	at := 0
	for at < len(data) && s.IntN(3) > 0 {
		_, _, n := protowire.ConsumeField(data[at:])
		at += n
	}
	return [][]byte{data[:at], data[at:]}
}

// unknown is a field that a message has not, or has with another type.
func (s scrambler) unknown(d protoreflect.MessageDescriptor) []byte {
	number := protowire.Number(1 + s.IntN(d.Fields().Len()+100))
	switch s.IntN(4) {
	case 0:
		return protowire.AppendVarint(protowire.AppendTag(nil, number, protowire.VarintType), s.Uint64())
	case 1:
		return protowire.AppendFixed32(protowire.AppendTag(nil, number, protowire.Fixed32Type), s.Uint32())
	case 2:
		return protowire.AppendFixed64(protowire.AppendTag(nil, number, protowire.Fixed64Type), s.Uint64())
	}
	group := protowire.AppendTag(nil, number, protowire.StartGroupType)
	group = protowire.AppendString(protowire.AppendTag(group, 1, protowire.BytesType), "nobody knows")
	return protowire.AppendTag(group, number, protowire.EndGroupType)
}
