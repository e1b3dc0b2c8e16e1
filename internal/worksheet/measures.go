package worksheet

import (
	"net/http"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/protocol"
)

// Measures gives the outcome measures of the protocol by which the page is answered. The
// page has a field for each.
type Measures func() []protocol.OutcomeMeasure

// measuresFile is where the page learns of them, below Path. They are those of the
// published Questionnaire, and nothing of a patient.
const measuresFile = "measures.json"

// write answers with the rows as the protocol has them.
func (m Measures) write(w http.ResponseWriter) {
	rows := m()
	if rows == nil {
		rows = []protocol.OutcomeMeasure{}
	}
	content, err := json.Marshal(rows, json.Deterministic(true))
	if err != nil {
		http.Error(w, "the measures of the protocol cannot be written", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(content) // a caller that hung up needs no answer
}
