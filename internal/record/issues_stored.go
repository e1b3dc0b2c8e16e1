package record

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/intake"
)

// noteStored adds notes on the earlier results that cannot be updated, and why: the
// version is not known, or somebody accepted or changed a plan or goal. For a living
// transaction it also notes if no plan was sent.
func (n *noteCollector) noteStored(reading *intake.Reading, o Output) {
	own, plans := shoulderDigest(reading.Patient, n.a.Episode.Involved), 0
	for i := range reading.Stored {
		s := &reading.Stored[i]
		id := resultIDIn(s.Common)
		if id.shoulder != "" && id.shoulder != own {
			continue // of the other shoulder
		}
		planned := isPlanned(s.Resource)
		if planned {
			plans++
		}
		switch {
		case isClosed(s.Resource):
		case !isWritable(s):
			n.noteAt(s, fault.Warning, fault.StoredVersionMissing,
				"a result of an earlier answer without id or meta.versionId; it is neither updated nor closed; expected it as the record gives it out")
		case planned && !isUnchanged(s.Resource, id):
			n.noteAt(s, fault.Information, fault.StoredKept, "a clinician decided about this, or changed it; it is kept as it is")
		}
	}
	if o == LivingTransaction && plans == 0 {
		n.issues = append(n.issues, fault.Issue{
			Severity: fault.Information, Kind: fault.PlanNotSent,
			Detail: "no CarePlan and no Goal of an earlier answer was sent, so that the plan is created, beside any that the record has; expected, after the first time, the patient's CarePlans and Goals as the record gives them out, with id and meta.versionId",
		})
	}
}

func (n *noteCollector) noteAt(s *intake.Stored, severity fault.Severity, kind fault.Kind, detail string) {
	n.issues = append(n.issues, fault.Issue{Severity: severity, Kind: kind, Path: s.Path, Detail: detail})
}
