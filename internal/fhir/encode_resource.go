package fhir

// resource writes a whole resource, or nothing for nil.
func (e *encoder) resource(r Resource) {
	if r == nil {
		return
	}
	e.out = append(e.out, `{"resourceType":`...)
	e.quoted(r.Type())
	switch r := r.(type) {
	case *Bundle:
		e.bundle(r)
	case *CarePlan:
		e.carePlan(r)
	case *Condition:
		e.condition(r)
	case *Device:
		e.device(r)
	case *DiagnosticReport:
		e.diagnosticReport(r)
	case *Encounter:
		e.encounter(r)
	case *Goal:
		e.goal(r)
	case *Observation:
		e.observation(r)
	case *OperationOutcome:
		e.common(&r.Common)
		arrayMember(e, "issue", r.Issue, (*encoder).outcomeIssue)
	case *Parameters:
		e.text("id", r.ID)
		arrayMember(e, "parameter", r.Parameter, (*encoder).parameter)
	case *Patient:
		e.common(&r.Common)
		e.text("birthDate", r.BirthDate)
	case *Procedure:
		e.procedure(r)
	case *Provenance:
		e.provenance(r)
	case *Other:
		e.text("id", r.ID)
	}
	e.out = append(e.out, '}')
}

// resourceMember writes a resource within another.
func (e *encoder) resourceMember(name string, r Resource) {
	if r != nil {
		e.name(name)
		e.resource(r)
	}
}

// common writes what every DomainResource may carry, and the identifiers, with
// which the elements of most types begin.
func (e *encoder) common(c *Common) {
	e.text("id", c.ID)
	objectMember(e, "meta", c.Meta, (*encoder).meta)
	e.text("implicitRules", c.ImplicitRules)
	e.text("language", c.Language)
	objectMember(e, "text", c.Text, (*encoder).narrative)
	array(e, "contained", c.Contained, false, func(e *encoder, r *Resource) { e.resource(*r) })
	e.extensions("extension", c.Extension)
	e.extensions("modifierExtension", c.ModifierExtension)
	arrayMember(e, "identifier", c.Identifier, (*encoder).identifierMembers)
}

func (e *encoder) bundle(b *Bundle) {
	e.text("id", b.ID)
	objectMember(e, "meta", b.Meta, (*encoder).meta)
	e.text("type", b.BundleType)
	e.text("timestamp", b.Timestamp)
	arrayMember(e, "entry", b.Entry, (*encoder).entry)
}

func (e *encoder) entry(n *Entry) {
	e.text("fullUrl", n.FullURL)
	e.resourceMember("resource", n.Resource)
	objectMember(e, "request", n.Request, (*encoder).request)
}

func (e *encoder) request(r *Request) {
	e.text("method", r.Method)
	e.text("url", r.URL)
	e.text("ifNoneExist", r.IfNoneExist)
}

func (e *encoder) parameter(p *Parameter) {
	e.text("name", p.Name)
	e.choice("value", p.Value)
	e.resourceMember("resource", p.Resource)
	arrayMember(e, "part", p.Part, (*encoder).parameter)
}

func (e *encoder) observation(o *Observation) {
	e.common(&o.Common)
	e.text("status", o.Status)
	e.concepts("category", o.Category)
	e.concept("code", &o.Code)
	e.reference("subject", o.Subject)
	e.references("focus", o.Focus)
	e.reference("encounter", o.Encounter)
	e.choice("effective", o.Effective)
	e.text("issued", o.Issued)
	e.references("performer", o.Performer)
	e.choice("value", o.Value)
	e.concept("dataAbsentReason", o.DataAbsentReason)
	e.concepts("interpretation", o.Interpretation)
	e.notes(o.Note)
	e.concept("bodySite", o.BodySite)
	e.concept("method", o.Method)
	e.reference("device", o.Device)
	arrayMember(e, "referenceRange", o.ReferenceRange, (*encoder).referenceRange)
	e.references("hasMember", o.HasMember)
	e.references("derivedFrom", o.DerivedFrom)
	arrayMember(e, "component", o.Component, (*encoder).component)
}

func (e *encoder) component(c *Component) {
	e.extensions("modifierExtension", c.ModifierExtension)
	e.concept("code", &c.Code)
	e.choice("value", c.Value)
	e.concept("dataAbsentReason", c.DataAbsentReason)
	e.concepts("interpretation", c.Interpretation)
	arrayMember(e, "referenceRange", c.ReferenceRange, (*encoder).referenceRange)
}

func (e *encoder) referenceRange(r *ReferenceRange) {
	e.quantity("low", r.Low)
	e.quantity("high", r.High)
	e.concept("type", r.Kind)
	e.text("text", r.Text)
}

func (e *encoder) condition(c *Condition) {
	e.common(&c.Common)
	e.concept("clinicalStatus", c.ClinicalStatus)
	e.concept("verificationStatus", c.VerificationStatus)
	e.concept("code", c.Code)
	e.concepts("bodySite", c.BodySite)
	e.reference("subject", c.Subject)
	e.choice("onset", c.Onset)
}

func (e *encoder) procedure(p *Procedure) {
	e.common(&p.Common)
	e.text("status", p.Status)
	e.concept("code", p.Code)
	e.reference("subject", p.Subject)
	e.choice("performed", p.Performed)
	e.concepts("bodySite", p.BodySite)
}

func (e *encoder) encounter(n *Encounter) {
	e.common(&n.Common)
	e.text("status", n.Status)
	objectMember(e, "class", &n.Class, (*encoder).codingMembers)
	e.reference("subject", n.Subject)
	e.period("period", n.Period)
}
