package fhir_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	cppb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/care_plan_go_proto"
	conpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/condition_go_proto"
	devpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/device_go_proto"
	drpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/diagnostic_report_go_proto"
	encpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/encounter_go_proto"
	goalpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/goal_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	patpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/patient_go_proto"
	propb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/procedure_go_proto"
	provpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/provenance_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// writtenMessages are the messages whose fields a method of the writer writes.
var writtenMessages = map[string][]proto.Message{
	"activity":         {&cppb.CarePlan_Activity{}},
	"activityDetail":   {&cppb.CarePlan_Activity_Detail{}},
	"agent":            {&provpb.Provenance_Agent{}},
	"annotation":       {&dpb.Annotation{}},
	"attachment":       {&dpb.Attachment{}},
	"bundle":           {&bcrpb.Bundle{}},
	"carePlan":         {&cppb.CarePlan{}},
	"coding":           {&dpb.Coding{}},
	"component":        {&opb.Observation_Component{}},
	"concept":          {&dpb.CodeableConcept{}},
	"condition":        {&conpb.Condition{}},
	"device":           {&devpb.Device{}},
	"deviceName":       {&devpb.Device_DeviceName{}},
	"deviceVersion":    {&devpb.Device_Version{}},
	"diagnosticReport": {&drpb.DiagnosticReport{}},
	"encounter":        {&encpb.Encounter{}},
	"entry":            {&bcrpb.Bundle_Entry{}},
	"extension":        {&dpb.Extension{}},
	"goal":             {&goalpb.Goal{}},
	"identifier":       {&dpb.Identifier{}},
	"meta":             {&dpb.Meta{}},
	"narrative":        {&dpb.Narrative{}},
	"observation":      {&opb.Observation{}},
	"operationOutcome": {&oopb.OperationOutcome{}},
	"outcomeIssue":     {&oopb.OperationOutcome_Issue{}},
	"patient":          {&patpb.Patient{}},
	"period":           {&dpb.Period{}},
	"procedure":        {&propb.Procedure{}},
	"provenance":       {&provpb.Provenance{}},
	"provenanceEntity": {&provpb.Provenance_Entity{}},
	"quantity":         {&dpb.Quantity{}},
	"reference":        {&dpb.Reference{}},
	"referenceRange":   {&opb.Observation_ReferenceRange{}},
	"referred":         {&dpb.Reference{}},
	"request":          {&bcrpb.Bundle_Entry_Request{}},
	"resource":         {&bcrpb.ContainedResource{}},
	"simpleQuantity":   {&dpb.SimpleQuantity{}},
	"target":           {&goalpb.Goal_Target{}},

	"common": {
		&cppb.CarePlan{}, &conpb.Condition{}, &devpb.Device{}, &drpb.DiagnosticReport{}, &encpb.Encounter{}, &goalpb.Goal{},
		&opb.Observation{}, &oopb.OperationOutcome{}, &patpb.Patient{}, &propb.Procedure{}, &provpb.Provenance{},
	},

	"extensionValue":       {&dpb.Extension_ValueX{}},
	"goalStart":            {&goalpb.Goal_StartX{}},
	"observationEffective": {&opb.Observation_EffectiveX{}},
	"observationValue":     {&opb.Observation_ValueX{}, &opb.Observation_Component_ValueX{}},
	"occurred":             {&provpb.Provenance_OccurredX{}},
	"onset":                {&conpb.Condition_OnsetX{}},
	"performed":            {&propb.Procedure_PerformedX{}},
	"reportEffective":      {&drpb.DiagnosticReport_EffectiveX{}},
	"scheduled":            {&cppb.CarePlan_Activity_Detail_ScheduledX{}},
	"targetDetail":         {&goalpb.Goal_Target_DetailX{}},
	"targetDue":            {&goalpb.Goal_Target_DueX{}},
}

// Every number in the writer is that of the field of that name.
func TestFieldNumbers(t *testing.T) {
	found := fieldsInSource(t)
	for method, fields := range found {
		if len(writtenMessages[method]) == 0 {
			t.Errorf("%s writes fields %v of a message that is not known here", method, fields)
		}
	}
	for method, messages := range writtenMessages {
		if len(found[method]) == 0 {
			t.Errorf("%s writes no fields", method)
		}
		for _, message := range messages {
			for _, field := range found[method] {
				checkField(t, message.ProtoReflect().Descriptor(), field)
			}
		}
	}
}

func checkField(t *testing.T, message protoreflect.MessageDescriptor, field writtenField) {
	t.Helper()
	described := message.Fields().ByNumber(field.number)
	if described == nil {
		t.Errorf("%s has no field %d for %s", message.FullName(), field.number, field.name)
		return
	}
	want := described.JSONName()
	if element, isChoice := strings.CutSuffix(string(message.Name()), "X"); isChoice {
		want = strings.ToLower(element[:1]) + element[1:] + strings.ToUpper(want[:1]) + want[1:]
	}
	if field.name != want {
		t.Errorf("field %d of %s is %s, not %s", field.number, message.FullName(), want, field.name)
	}
}

// writtenField is a number with a name behind it, among the arguments of a call.
type writtenField struct {
	number protoreflect.FieldNumber
	name   string
}

// fieldsInSource are the fields that stand in the methods of the writer.
func fieldsInSource(t *testing.T) map[string][]writtenField {
	t.Helper()
	names, err := filepath.Glob("proto_out*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := map[string][]writtenField{}
	for _, name := range names {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, declaration := range file.Decls {
			method, ok := declaration.(*ast.FuncDecl)
			if !ok || method.Recv == nil {
				continue
			}
			ast.Inspect(method, func(n ast.Node) bool {
				if call, ok := n.(*ast.CallExpr); ok {
					found[method.Name.Name] = append(found[method.Name.Name], fieldsIn(call.Args)...)
				}
				return true
			})
		}
	}
	for method, fields := range found {
		if len(fields) == 0 {
			delete(found, method)
		}
	}
	return found
}

func fieldsIn(arguments []ast.Expr) (found []writtenField) {
	for i := range len(arguments) - 1 {
		number, isNumber := arguments[i].(*ast.BasicLit)
		name, isName := arguments[i+1].(*ast.BasicLit)
		if isNumber && isName && number.Kind == token.INT && name.Kind == token.STRING {
			n, _ := strconv.Atoi(number.Value)
			unquoted, _ := strconv.Unquote(name.Value)
			found = append(found, writtenField{protoreflect.FieldNumber(n), unquoted})
		}
	}
	return found
}
