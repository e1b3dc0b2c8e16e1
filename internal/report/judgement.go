package report

import "encoding/binary"

// Judgement is what the full report says but for what was found wrong with the input, to
// be digested: its texts, each behind its length. It holds until another form is written.
func (r *Writer) Judgement() []byte {
	j := judgement{r.room()}
	j.texts(r.first.who...)
	j.texts(r.first.alarms...)
	j.texts(r.first.decision)
	j.texts(r.first.lines...)
	for _, s := range [...]*section{&r.reasons, &r.measured, &r.history, &r.work, &r.asked, &r.aims, &r.warnings, &r.citations} {
		j.section(s)
	}
	if !r.demanded.empty() { // most protocols have no demands, and their digests are older than demands
		j.section(&r.demanded)
	}
	r.space = j.out
	return j.out
}

// judgement appends texts to be digested.
type judgement struct{ out []byte }

// texts appends how many texts there are, and each of them.
func (j *judgement) texts(list ...string) {
	j.count(len(list))
	for _, s := range list {
		j.count(len(s))
		j.out = append(j.out, s...)
	}
}

func (j *judgement) count(n int) { j.out = binary.AppendUvarint(j.out, uint64(n)) }

func (j *judgement) section(s *section) {
	j.count(len(s.entries))
	for i := range s.entries {
		j.texts(s.entries[i].text)
		j.texts(s.entries[i].points...)
	}
	if s.table == nil {
		return
	}
	for _, g := range s.table.groups {
		j.texts(g.name)
		for _, r := range g.rows {
			j.texts(r.cells...)
			j.texts(r.notes...)
		}
	}
}
