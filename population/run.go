package population

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync/atomic"

	"evenreach.example/internal/batch"
)

// Options say what is done.
type Options struct {
	Inputs []string // folders of an export, or files of it
	Out    string   // folder of the output
	// Memory is how many bytes may be used. Partitions are made so small that two of them
	// are a fourth of it.
	Memory   int64
	Workers  int // as many as there are cores if it is not above 0
	Assessor *Assessor
	Summary  SummaryOptions
	// Progress is called now and then, by several goroutines; nil for none.
	Progress func(Stage)
}

// Stage is how far a run is.
type Stage struct {
	Name        string // reading, or assessing
	Done, Total int64  // bytes, before and after uncompressing
}

func (o *Options) workers() int {
	if o.Workers > 0 {
		return o.Workers
	}
	return runtime.GOMAXPROCS(0)
}

// stage begins a stage, and counts what is done of it.
func (o *Options) stage(name string, total int64) func(bytes int) {
	if o.Progress == nil {
		return func(int) {}
	}
	var done atomic.Int64
	return func(bytes int) { o.Progress(Stage{name, done.Add(int64(bytes)), total}) }
}

// runPlan is what a run is about. Another run goes on with one that was ended only if it is
// the same.
type runPlan struct {
	Inputs     []input `json:"inputs"`
	Partitions int     `json:"partitions"`
	Memory     int64   `json:"memory"`
	Results    Results `json:"results"`
	Protocol   string  `json:"protocol"` // digest
	Software   string  `json:"software"`
	Identity   string  `json:"identity"` // a digest under the key
}

const planFile = "plan.json"

// Run assesses an export on one machine, in bounded memory. Run again after it was ended,
// it goes on where it was, and gives the same bytes as if it had not been. A file that
// cannot be read to its end fails the run.
func Run(ctx context.Context, o Options) (*Summary, error) {
	inputs, err := inputsOf(o.Inputs)
	if err != nil {
		return nil, err
	}
	out := &folder{o.Out}
	if err := os.MkdirAll(filepath.Join(o.Out, workFolder), 0o755); err != nil {
		return nil, err
	}
	unlock, err := lock(filepath.Join(o.Out, workFolder, "lock"))
	if err != nil {
		return nil, fmt.Errorf("%s: another run is writing there: %w", o.Out, err)
	}
	defer unlock()
	r := &run{o: o, inputs: inputs, out: out}
	if err := r.begin(); err != nil {
		return nil, err
	}
	if err := r.spread(ctx); err != nil {
		return nil, err
	}
	if err := r.assess(ctx); err != nil {
		return nil, err
	}
	summary, err := Summarise(o.Out, o.Summary)
	if err != nil {
		return nil, err
	}
	return summary, r.end()
}

// run is a run in progress.
type run struct {
	o      Options
	inputs []input
	out    *folder
	plan   runPlan
}

// begin makes the plan, or goes on with the one that is there.
func (r *run) begin() error {
	var text int64
	for i := range r.inputs {
		text += r.inputs[i].textSize()
	}
	a := r.o.Assessor
	r.plan = runPlan{
		Inputs: r.inputs, Partitions: partitionsFor(text, r.o.Memory), Memory: r.o.Memory, Results: a.Results,
		Protocol: a.Pipeline.Protocols.Find("").Digest(), Software: a.Pipeline.Version, Identity: a.Identity.Of("identity"),
	}
	wanted, err := json.MarshalIndent(r.plan, "", "  ")
	if err != nil {
		return err
	}
	found, err := os.ReadFile(filepath.Join(r.o.Out, workFolder, planFile))
	switch {
	case err == nil && string(found) == string(wanted):
		return nil
	case err == nil:
		return fmt.Errorf("%s has the output of another run, of other files or under other options; expected a new folder, or one that was emptied", r.o.Out)
	case !errors.Is(err, os.ErrNotExist):
		return err
	}
	if err := r.checkDisk(text); err != nil {
		return err
	}
	return r.out.replace(filepath.Join(workFolder, planFile), wanted)
}

// The number of partitions: enough that a run that was ended loses little, few enough to
// be open together. Ours.
const (
	leastPartitions = 16
	mostPartitions  = 512
)

// share is which part of the memory the text of one partition takes. Two are held, and
// the other half is for what is computed from them.
const share = 8

// partitionsFor is the number of partitions for so many bytes of text. They are made half
// as large as they may be, because patients are not alike.
func partitionsFor(text, memory int64) int {
	return int(min(max(2*text*share/max(memory, 1), leastPartitions), mostPartitions))
}

// checkDisk fails if the disk has not the room for partitions and output.
func (r *run) checkDisk(text int64) error {
	free, known := freeDisk(r.o.Out)
	needed := text + text/2
	if r.o.Assessor.Results != NoResults {
		needed += 3 * text // as measured
	}
	if known && free < needed {
		return fmt.Errorf("%s: %d MiB are free; expected at least %d MiB, for %d MiB of lines and what comes of them", r.o.Out, free>>20, needed>>20, text>>20)
	}
	return nil
}

func (r *run) spills() string { return filepath.Join(r.o.Out, workFolder, "spills") }

// spread spreads the lines over partitions, unless that was done.
func (r *run) spread(ctx context.Context) error {
	if _, err := os.Stat(r.spills()); err == nil {
		return nil
	}
	unfinished := r.spills() + partial
	if err := errors.Join(os.RemoveAll(unfinished), os.MkdirAll(unfinished, 0o755)); err != nil {
		return err
	}
	if err := scatter(ctx, r.inputs, r.plan.Partitions, unfinished, r.out, r.o); err != nil {
		return err
	}
	return os.Rename(unfinished, r.spills())
}

// end removes the partitions. The plan stays, so that a run of other files is refused.
func (r *run) end() error { return os.RemoveAll(r.spills()) }

// loaded is one pass over one partition.
type loaded struct {
	partition int
	groups    []Group
	size      int64
	last      bool // pass
	err       error
}

// task is one patient, or the end of a partition.
type task struct {
	partition int
	group     *Group
	size      int64 // of the partition's file, at its end
}

// finished is a task with what came of it.
type finished struct {
	task
	*written
}

// assess assesses the patients of all partitions that are not done, one partition after
// the other, on all cores. The next one is read meanwhile.
func (r *run) assess(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ahead := make(chan loaded)
	go r.load(ctx, ahead)
	t := &taker{run: r, done: r.o.stage("assessing", r.left())}
	defer t.abandon()
	line := batch.Line[task, finished]{
		Next: (&tasks{from: ahead}).next,
		Work: func(ctx context.Context, one task) finished {
			if one.group == nil {
				return finished{one, &written{}}
			}
			return finished{one, r.o.Assessor.write(ctx, one.group)}
		},
		Take: t.take,
	}
	err := line.Run(ctx, r.o.workers())
	stop()
	for range ahead { // let the loader end
	}
	return err
}

// left is how many bytes of partitions are still to be assessed.
func (r *run) left() (bytes int64) {
	for i := range r.plan.Partitions {
		if info, err := os.Stat(filepath.Join(r.spills(), spillName(i))); err == nil && !r.out.done(partName(i)) {
			bytes += info.Size()
		}
	}
	return bytes
}

func partName(partition int) string { return fmt.Sprintf("part-%04d", partition) }

// load reads the partitions that are not done.
func (r *run) load(ctx context.Context, to chan<- loaded) {
	defer close(to)
	for i := range r.plan.Partitions {
		if r.out.done(partName(i)) {
			continue
		}
		file := filepath.Join(r.spills(), spillName(i))
		info, err := os.Stat(file)
		if err != nil {
			send(ctx, to, loaded{err: err})
			return
		}
		passes := int(info.Size()/(r.plan.Memory/share)) + 1
		for pass := range passes {
			l := loaded{partition: i, size: info.Size() / int64(passes), last: pass == passes-1}
			l.groups, l.err = gather(file, r.plan.Partitions, pass, passes)
			if !send(ctx, to, l) {
				return
			}
		}
	}
}

func send(ctx context.Context, to chan<- loaded, l loaded) bool {
	select {
	case to <- l:
		return true
	case <-ctx.Done():
		return false
	}
}

// tasks gives the patients of the partitions one by one, and tells where each ends.
type tasks struct {
	from    <-chan loaded
	present loaded
	ended   bool // the present one
	begun   bool
}

func (t *tasks) next() (task, error) {
	for {
		switch {
		case len(t.present.groups) > 0:
			group := &t.present.groups[0]
			t.present.groups = t.present.groups[1:]
			return task{partition: t.present.partition, group: group}, nil
		case t.begun && t.present.last && !t.ended:
			t.ended = true
			return task{partition: t.present.partition, size: t.present.size}, nil
		}
		l, ok := <-t.from
		if !ok {
			return task{}, io.EOF
		}
		if l.err != nil {
			return task{}, l.err
		}
		t.present, t.begun, t.ended = l, true, false
	}
}

// taker writes what comes out, partition by partition.
type taker struct {
	run  *run
	part *part // nil between two partitions
	done func(bytes int)
}

func (t *taker) take(one finished) error {
	if one.err != nil {
		return one.err
	}
	if t.part == nil {
		t.part = t.run.out.part(partName(one.partition))
	}
	if one.group != nil {
		size := 0
		for i := range one.group.Lines {
			size += len(one.group.Lines[i].Text)
		}
		t.done(size)
		return t.part.write(one.written)
	}
	// The patients have the counts of their own lines.
	if err := t.part.complete(Counts{}); err != nil {
		return err
	}
	t.part = nil
	return os.Remove(filepath.Join(t.run.spills(), spillName(one.partition)))
}

func (t *taker) abandon() {
	if t.part != nil {
		t.part.abandon()
	}
}
