package plan

import (
	"testing"

	"evenreach.example/internal/readiness"
)

// While the concern of an alarm that nobody has examined stands, the examination is asked for
// first, beside the work that goes on. Source: ours.
func TestAnUnexaminedAlarmAsksForTheExamination(t *testing.T) {
	b := builder{r: &readiness.Readiness{Concerns: []readiness.Concern{{Kind: readiness.FlagUnexamined}}}}
	all := b.flagRequests()
	if len(all) != 1 || all[0].Ask != AskExamination || all[0].Why != WhyUnexamined || !all[0].First {
		t.Errorf("%+v, want the examination first", all)
	}
	b.r.Concerns[0].Kind = readiness.RangeFell
	if all := b.flagRequests(); len(all) != 0 {
		t.Errorf("%+v, want nothing: no alarm", all)
	}
}
