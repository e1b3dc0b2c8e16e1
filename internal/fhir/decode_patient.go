package fhir

func (d *decoder) patient() *Patient {
	p := &Patient{}
	for d.member() {
		switch d.name {
		case "birthDate":
			p.BirthDate = d.date()
		default:
			d.domain(&p.Common, "Patient")
		}
	}
	return p
}

func (d *decoder) condition() *Condition {
	c := &Condition{}
	for d.member() {
		switch d.name {
		case "clinicalStatus":
			c.ClinicalStatus = d.conceptPtr()
		case "verificationStatus":
			c.VerificationStatus = d.conceptPtr()
		case "code":
			c.Code = d.conceptPtr()
		case "bodySite":
			c.BodySite = d.conceptList()
		case "subject":
			c.Subject = d.referencePtr()
		case "onsetDateTime", "onsetAge", "onsetPeriod", "onsetRange", "onsetString":
			c.Onset = d.choice(c.Onset, "onset")
		default:
			d.domain(&c.Common, "Condition")
		}
	}
	d.require(!c.Subject.isEmpty(), "subject")
	return c
}

func (d *decoder) procedure() *Procedure {
	p := &Procedure{}
	for d.member() {
		switch d.name {
		case "status":
			p.Status = d.code()
		case "code":
			p.Code = d.conceptPtr()
		case "subject":
			p.Subject = d.referencePtr()
		case "performedDateTime", "performedPeriod", "performedString", "performedAge", "performedRange":
			p.Performed = d.choice(p.Performed, "performed")
		case "bodySite":
			p.BodySite = d.conceptList()
		default:
			d.domain(&p.Common, "Procedure")
		}
	}
	d.require(p.Status != "", "status")
	d.require(!p.Subject.isEmpty(), "subject")
	return p
}

func (d *decoder) encounter() *Encounter {
	e := &Encounter{}
	for d.member() {
		switch d.name {
		case "status":
			e.Status = d.code()
		case "class":
			d.coding(&e.Class)
		case "subject":
			e.Subject = d.referencePtr()
		case "period":
			e.Period = d.periodPtr()
		default:
			d.domain(&e.Common, "Encounter")
		}
	}
	d.require(e.Status != "", "status")
	d.require(e.Class != Coding{}, "class")
	return e
}
