package fhir

func (d *decoder) goal() *Goal {
	g := &Goal{}
	var start Value
	for d.member() {
		switch d.name {
		case "lifecycleStatus":
			g.LifecycleStatus = d.code()
		case "achievementStatus":
			g.AchievementStatus = d.conceptPtr()
		case "category":
			g.Category = d.conceptList()
		case "description":
			d.conceptAgain(&g.Description)
		case "subject":
			g.Subject = d.referencePtr()
		case "startDate", "startCodeableConcept":
			start = d.choice(start, "start")
		case "target":
			g.Target = list(d, &d.targets, (*decoder).target)
		case "addresses":
			g.Addresses = d.referenceList()
		case "note":
			g.Note = d.annotationList()
		case "outcomeReference":
			g.OutcomeReference = d.referenceList()
		default:
			d.domain(&g.Common, "Goal")
		}
	}
	date, _ := start.(Date)
	g.StartDate = string(date)
	d.require(g.LifecycleStatus != "", "lifecycleStatus")
	d.require(!g.Description.isEmpty(), "description")
	d.require(!g.Subject.isEmpty(), "subject")
	return g
}

func (d *decoder) target(t *Target) {
	if !d.object() {
		return
	}
	var due Value
	for d.member() {
		switch d.name {
		case "measure":
			t.Measure = d.conceptPtr()
		case "detailQuantity", "detailRange", "detailCodeableConcept", "detailString", "detailBoolean",
			"detailInteger", "detailRatio":
			t.Detail = d.choice(t.Detail, "detail")
		case "dueDate", "dueDuration":
			due = d.choice(due, "due")
		default:
			d.other("Goal.target")
		}
	}
	date, _ := due.(Date)
	t.DueDate = string(date)
}

func (d *decoder) carePlan() *CarePlan {
	c := &CarePlan{}
	for d.member() {
		switch d.name {
		case "instantiatesCanonical":
			c.InstantiatesCanonical = d.primitives((*decoder).uri)
		case "replaces":
			c.Replaces = d.referenceList()
		case "status":
			c.Status = d.code()
		case "intent":
			c.Intent = d.code()
		case "category":
			c.Category = d.conceptList()
		case "title":
			c.Title = d.str()
		case "description":
			c.Description = d.str()
		case "subject":
			c.Subject = d.referencePtr()
		case "encounter":
			c.Encounter = d.referencePtr()
		case "period":
			c.Period = d.periodPtr()
		case "created":
			c.Created = d.dateTime()
		case "author":
			c.Author = d.referencePtr()
		case "addresses":
			c.Addresses = d.referenceList()
		case "supportingInfo":
			c.SupportingInfo = d.referenceList()
		case "goal":
			c.Goal = d.referenceList()
		case "activity":
			c.Activity = list(d, &d.activities, (*decoder).activity)
		case "note":
			c.Note = d.annotationList()
		default:
			d.domain(&c.Common, "CarePlan")
		}
	}
	d.require(c.Status != "", "status")
	d.require(c.Intent != "", "intent")
	d.require(!c.Subject.isEmpty(), "subject")
	return c
}

func (d *decoder) activity(a *Activity) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "detail":
			a.Detail = d.activityDetail()
		default:
			d.other("CarePlan.activity")
		}
	}
}

func (d *decoder) activityDetail() *ActivityDetail {
	if !d.object() {
		return nil
	}
	a := &ActivityDetail{}
	var scheduled Value
	for d.member() {
		switch d.name {
		case "kind":
			a.Kind = d.code()
		case "instantiatesCanonical":
			a.InstantiatesCanonical = d.primitives((*decoder).uri)
		case "code":
			a.Code = d.conceptPtr()
		case "reasonCode":
			a.ReasonCode = d.conceptList()
		case "reasonReference":
			a.ReasonReference = d.referenceList()
		case "goal":
			a.Goal = d.referenceList()
		case "status":
			a.Status = d.code()
		case "statusReason":
			a.StatusReason = d.conceptPtr()
		case "doNotPerform":
			a.DoNotPerform = d.boolean()
		case "scheduledTiming", "scheduledPeriod", "scheduledString":
			scheduled = d.choice(scheduled, "scheduled")
		case "description":
			a.Description = d.str()
		default:
			d.other("CarePlan.activity.detail")
		}
	}
	text, _ := scheduled.(String)
	a.ScheduledString = string(text)
	a.ScheduledPeriod, _ = scheduled.(*Period)
	d.require(a.Status != "", "status")
	return a
}
