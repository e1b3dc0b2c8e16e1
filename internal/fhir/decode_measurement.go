package fhir

func (d *decoder) observation() *Observation {
	o := d.observations.One()
	for d.member() {
		switch d.name {
		case "status":
			o.Status = d.code()
		case "category":
			o.Category = d.conceptList()
		case "code":
			d.conceptAgain(&o.Code)
		case "subject":
			o.Subject = d.referencePtr()
		case "focus":
			o.Focus = d.referenceList()
		case "encounter":
			o.Encounter = d.referencePtr()
		case "effectiveDateTime", "effectiveInstant", "effectivePeriod", "effectiveTiming":
			o.Effective = d.choice(o.Effective, "effective")
		case "issued":
			o.Issued = d.instant()
		case "performer":
			o.Performer = d.referenceList()
		case "valueQuantity", "valueCodeableConcept", "valueString", "valueBoolean", "valueInteger", "valueRange",
			"valueRatio", "valueSampledData", "valueTime", "valueDateTime", "valuePeriod":
			o.Value = d.choice(o.Value, "value")
		case "dataAbsentReason":
			o.DataAbsentReason = d.conceptPtr()
		case "interpretation":
			o.Interpretation = d.conceptList()
		case "note":
			o.Note = d.annotationList()
		case "bodySite":
			o.BodySite = d.conceptPtr()
		case "method":
			o.Method = d.conceptPtr()
		case "device":
			o.Device = d.referencePtr()
		case "referenceRange":
			o.ReferenceRange = d.referenceRangeList()
		case "hasMember":
			o.HasMember = d.referenceList()
		case "derivedFrom":
			o.DerivedFrom = d.referenceList()
		case "component":
			o.Component = list(d, &d.components, (*decoder).componentAgain)
		default:
			d.domain(&o.Common, "Observation")
		}
	}
	d.require(o.Status != "", "status")
	d.require(!o.Code.isEmpty(), "code")
	return o
}

func (d *decoder) component(c *Component) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "modifierExtension":
			c.ModifierExtension = d.extensionList()
		case "code":
			d.conceptAgain(&c.Code)
		case "valueQuantity", "valueCodeableConcept", "valueString", "valueBoolean", "valueInteger", "valueRange",
			"valueRatio", "valueSampledData", "valueTime", "valueDateTime", "valuePeriod":
			c.Value = d.choice(c.Value, "value")
		case "dataAbsentReason":
			c.DataAbsentReason = d.conceptPtr()
		case "interpretation":
			c.Interpretation = d.conceptList()
		case "referenceRange":
			c.ReferenceRange = d.referenceRangeList()
		default:
			d.other("Observation.component")
		}
	}
	d.require(!c.Code.isEmpty(), "code")
}

func (d *decoder) componentAgain(c *Component) {
	valueAgain(d, &d.seen.components, c, (*decoder).component)
}

func (d *decoder) referenceRange(r *ReferenceRange) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "low":
			r.Low = d.quantityPtr()
		case "high":
			r.High = d.quantityPtr()
		case "type":
			r.Kind = d.conceptPtr()
		case "text":
			r.Text = d.str()
		default:
			d.other("Observation.referenceRange")
		}
	}
}

func (d *decoder) referenceRangeList() []ReferenceRange {
	return listAgain(d, &d.seen.rangeLists, &d.ranges, (*decoder).referenceRange)
}
