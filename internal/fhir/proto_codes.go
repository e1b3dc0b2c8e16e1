package fhir

import (
	"strings"

	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	cpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/codes_go_proto"
	vpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/valuesets_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// The codes with a required binding, which the protocol buffers hold as enums.
var (
	bundleTypes       = codesOf[cpb.BundleTypeCode_Value]()
	httpVerbs         = codesOf[cpb.HTTPVerbCode_Value]()
	narrativeStatuses = codesOf[cpb.NarrativeStatusCode_Value]()
	comparators       = codesOf[cpb.QuantityComparatorCode_Value]()

	observationStatuses = codesOf[cpb.ObservationStatusCode_Value]()
	procedureStatuses   = codesOf[cpb.EventStatusCode_Value]()
	encounterStatuses   = codesOf[cpb.EncounterStatusCode_Value]()
	goalStatuses        = codesOf[cpb.GoalLifecycleStatusCode_Value]()
	planStatuses        = codesOf[cpb.RequestStatusCode_Value]()
	planIntents         = codesOf[vpb.CarePlanIntentValueSet_Value]()
	activityKinds       = codesOf[vpb.CarePlanActivityKindValueSet_Value]()
	activityStatuses    = codesOf[cpb.CarePlanActivityStatusCode_Value]()

	reportStatuses  = codesOf[cpb.DiagnosticReportStatusCode_Value]()
	entityRoles     = codesOf[cpb.ProvenanceEntityRoleCode_Value]()
	deviceStatuses  = codesOf[cpb.FHIRDeviceStatusCode_Value]()
	deviceNameTypes = codesOf[cpb.DeviceNameTypeCode_Value]()
	issueSeverities = codesOf[cpb.IssueSeverityCode_Value]()
	issueTypes      = codesOf[cpb.IssueTypeCode_Value]()
)

// enum is a generated enum: a number with a descriptor.
type enum interface {
	~int32
	protoreflect.Enum
}

// codes translates between the values of an enum and FHIR code text.
type codes[E enum] struct {
	texts  []string // by value
	values map[string]E
}

// codesOf builds the table of an enum. The value 0 stands for no code and has
// no text.
func codesOf[E enum]() codes[E] {
	described := E(0).Descriptor().Values()
	table := codes[E]{values: make(map[string]E, described.Len())}
	for i := range described.Len() {
		value := described.Get(i)
		number := int(value.Number())
		if number == 0 {
			continue
		}
		text := codeText(value)
		for len(table.texts) <= number {
			table.texts = append(table.texts, "")
		}
		table.texts[number] = text
		table.values[text] = E(value.Number())
	}
	return table
}

// codeText is the FHIR code of an enum value: the original code where the
// protocol buffers had to change it, otherwise the value's name in lower case
// with hyphens.
func codeText(value protoreflect.EnumValueDescriptor) string {
	if original, ok := proto.GetExtension(value.Options(), apb.E_FhirOriginalCode).(string); ok && original != "" {
		return original
	}
	return strings.ReplaceAll(strings.ToLower(string(value.Name())), "_", "-")
}

// text is the FHIR code of the value, or "" if it has none.
func (c codes[E]) text(value E) string {
	if value < 0 || int(value) >= len(c.texts) {
		return ""
	}
	return c.texts[value]
}

// value is the enum value of a FHIR code.
func (c codes[E]) value(text string) (value E, ok bool) {
	value, ok = c.values[text]
	return value, ok
}
