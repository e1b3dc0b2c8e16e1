package reliability

import (
	"math"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/protocol"
)

// The scores are PMC7394793, table 1.
func TestRead(t *testing.T) {
	wide := []Score{
		{Subject: "7", Session: "1", Value: 6.2, Line: 2}, {Subject: "7", Session: "2", Value: 12.4, Line: 2},
		{Subject: "8", Session: "1", Value: 9.8, Line: 3}, {Subject: "8", Session: "2", Value: 20.8, Line: 3},
	}
	tests := []struct {
		name, columns, text string
		want                []Score
	}{
		{"numbers that name subjects", "", "subject,session 1,session 2\n7,6.2,12.4\n8,9.8,20.8\n", wide},
		{"decimal commas", "", "Subject;Session1;Session2\n7;6,2;12,4\n8;9,8;20,8\n", wide},
		{"tabs", "", "subject\tsession_1\tsession_2\n7\t6.2\t12.4\n8\t9,8\t20,8\n", wide},
		{"byte order mark, carriage returns and empty lines", "", "\ufeffsubject,day 1,day 2\r\n7,6.2,12.4\r\n8,9.8,20.8\r\n,,\r\n", wide},
		{
			"named columns", "subject=ID,session=First,session=Second,ignore=Age", "ID,Age,First,Second\n7,61,6.2,12.4\n",
			[]Score{{Subject: "7", Session: "First", Value: 6.2, Line: 2}, {Subject: "7", Session: "Second", Value: 12.4, Line: 2}},
		},
		{
			"one score a line", "", "patient,side,test,day,examiner,trial,strength\n7,Right,ER,1,A,1,6.2\n7,right,ER,1,A,2,12.4\n",
			[]Score{{"7", "right", "ER", "1", "A", "1", 6.2, 2}, {"7", "right", "ER", "1", "A", "2", 12.4, 3}},
		},
		{
			"dates, of each for themselves", "", "subject,session,value\n7,2026-03-14,12.4\n7,2026-03-07,6.2\n8,9.3.2026,9.8\n8,16.03.2026,20.8\n",
			[]Score{
				{Subject: "7", Session: "2", Value: 12.4, Line: 2}, {Subject: "7", Session: "1", Value: 6.2, Line: 3},
				{Subject: "8", Session: "1", Value: 9.8, Line: 4}, {Subject: "8", Session: "2", Value: 20.8, Line: 5},
			},
		},
		{
			"a trial that was not done", "", "subject,session,trial 1,trial 2\n7,1,6.2,\n7,2,9.8,20.8\n",
			[]Score{
				{Subject: "7", Session: "1", Trial: "1", Value: 6.2, Line: 2},
				{Subject: "7", Session: "2", Trial: "1", Value: 9.8, Line: 3}, {Subject: "7", Session: "2", Trial: "2", Value: 20.8, Line: 3},
			},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Read(strings.NewReader(tt.text), tt.columns)
			if err != nil || !slices.Equal(got, tt.want) {
				t.Errorf("Read = %v, %v, want %v", got, err, tt.want)
			}
		})
	}
}

func TestReadNamesLineAndColumn(t *testing.T) {
	tests := []struct {
		name, columns, text string
		want                []string
	}{
		{"nothing", "", "", []string{"line 1: expected a header"}},
		{"a header alone", "", "subject,trial 1,trial 2\n", []string{"no score below the header"}},
		{"no scores", "", "subject,trial 1,trial 2\n7,,\n", []string{"no score below the header"}},
		{"not text", "", "s\x00u\x00", []string{"save the table as CSV"}},
		{"nobody knows what a column is", "", "7,first,second\n8,2,3\n", []string{
			"line 1, column 1 (7): not known what it holds", `line 1, column 2 (first)`, `--columns "ignore=second"`,
		}},
		{"who was measured is not said", "", "trial 1,trial 2\n1,2\n", []string{"no column says who was measured"}},
		{"no column of scores", "", "subject,session\n7,1\n", []string{"no column holds the strengths"}},
		{"two columns of subjects", "", "subject,patient,value\n7,8,9\n", []string{"2 columns are called subject"}},
		{"two columns of values", "", "subject,value,score\n7,8,9\n", []string{"2 columns are called value"}},
		{"a role that is none", "who=ID", "ID,value\n7,8\n", []string{`--columns: found "who=ID"`}},
		{"a column that is none", "subject=Code", "ID,value\n7,8\n", []string{`the file has no column "Code"`}},
		{"every bad score", "", "subject,trial 1,trial 2\n7,6.2,x\n8,-1,12.4\n9,7,8\n10,NaN,Inf\n", []string{
			`line 2, column 3 (trial 2): found "x"; expected a strength above 0`, `line 3, column 2 (trial 1): found "-1"`,
			`line 5, column 2 (trial 1): found "NaN"`, `line 5, column 3 (trial 2): found "Inf"`,
		}},
		{"a label that is missing", "", "subject,session,value\n7,,6.2\n,2,7\n", []string{
			"line 2, column 2 (session): found nothing; expected the session", "line 3, column 1 (subject): found nothing; expected the subject",
		}},
		{"columns that are missing", "", "subject,trial 1,trial 2\n7,6.2\n", []string{"line 2, found 2 columns; expected 3 as in the header"}},
		{"three sides", "", "subject,side,value\n7,R,1\n8,L,2\n9,right,3\n", []string{`line 4, column 2 (side): found "right"; expected one of the two names above, r and l`}},
		{"twice the same", "", "subject,session,value\n7,1,6\n7,2,7\n7,1,8\n", []string{"line 4, column 3 (value): this was measured in line 2 already"}},
		{"a quote that does not end", "", "subject,value\n7,\"6\n", []string{"line 2"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			scores, err := Read(strings.NewReader(tt.text), tt.columns)
			for _, want := range tt.want {
				if err == nil || !strings.Contains(err.Error(), want) {
					t.Errorf("Read = %v, %v, want it to name %q", scores, err, want)
				}
			}
		})
	}
}

// The template is read, apart from its scores, which are missing.
func TestTemplate(t *testing.T) {
	filled := strings.ReplaceAll(Template, ",,,\n", ",101,99,103\n")
	scores, err := Read(strings.NewReader(filled), "")
	if err != nil || len(scores) != 12 {
		t.Errorf("%d scores, %v, want 12 (4 lines of 3 trials)", len(scores), err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add("subject,session 1,session 2\n1,6.2,12.4\n2,9,10\n3,8,9\n4,7,7.5\n5,6,6.5\n", "")
	f.Add("subject;side;session;trial 1;trial 2\n1;l;1;6,2;7\n1;l;2;6,3;7,1\n", "subject=subject")
	f.Add("ID,Age,T1,T2\n1,60,5,6\n", "subject=ID,ignore=Age,trial=T1,trial=T2")
	f.Add("subject,test,session,rater,trial,value\n1,a,1,A,1,100\n1,b,2,B,1,1e5\n", "")
	f.Fuzz(func(t *testing.T, text, columns string) {
		scores, err := Read(strings.NewReader(text), columns)
		if err != nil {
			return
		}
		for _, s := range scores {
			if !(s.Value > 0) || s.Subject == "" {
				t.Errorf("accepted %+v", s)
			}
		}
		study, err := Analyse(scores)
		if err != nil {
			return
		}
		for _, r := range study.Repeats {
			if math.IsNaN(r.Agreement.Value) || r.Agreement.Low > r.Agreement.High {
				t.Errorf("%+v", r)
			}
		}
		_ = study.Text()
		if settings, err := study.Settings(Usual, protocol.Default()); err == nil {
			if _, err := protocol.Load([]byte("id: own\n" + YAML(settings))); err != nil {
				t.Errorf("%v in\n%s", err, YAML(settings))
			}
		}
	})
}
