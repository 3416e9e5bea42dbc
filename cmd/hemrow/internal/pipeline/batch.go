package pipeline

import (
	"context"
	"errors"
	"io"
	"runtime"
	"sync"
	"time"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/rows"
)

// Batch plans a stream of outlines, each feature a field of its own.
type Batch struct {
	Spec    rows.Spec
	Field   field.Spec
	Surveys *Surveys // of heights, under every field; nil for none
	Workers int      // goroutines; at least 1
	// Append appends the result line of one field to b.
	Append func(b []byte, r BatchResult) []byte
	// Progress is told the number of fields written, now and then; may be nil.
	Progress func(done int)
}

// BatchResult is the outcome for one field: a layout, or why there is none.
type BatchResult struct {
	Number  int // of the feature in the stream, from 1
	Feature format.Feature
	Layout  rows.Layout
	Notes   geo.Notes
	Err     error
}

// Totals sums a batch. PlanS is the time during which fields were planned, from
// decoded feature to row lengths: the time each worker planned, summed and
// divided by the number of processors that could work at once. Reading, decoding
// and writing are left out.
type Totals struct {
	Fields   int
	Failed   int
	Rows     int
	Pieces   int
	PlantedM float64
	PlanS    float64 //unit:seconds
}

// A chunk passes between goroutines as a whole: enough fields to make the
// hand-over cheap beside the planning of one (10 to 20 µs), few enough bytes to
// keep a dozen chunks small.
const (
	chunkFields = 64
	chunkBytes  = 256 << 10
)

// chunk is a run of features on its way through the batch.
type chunk struct {
	raws   []delivery.Record
	size   int
	out    []byte
	totals Totals
	errs   []error // of features left out, to be told in order
	broken bool    // the run was cancelled before it was done
	spent  time.Duration
	done   chan struct{}
}

// Run reads every feature of a stream, plans it, and writes one result for each to
// out in the order of the input. Memory does not grow with the input: at most
// a few chunks for each worker are under way. A field that fails makes a
// result with its error and the rest go on; only a fault of the stream itself,
// a failing writer or a cancelled context end the run with an error.
func (b Batch) Run(ctx context.Context, stream *delivery.Stream, out io.Writer) (Totals, error) {
	return inOrder(ctx, stream, out, b.Workers, b.Progress, func() func(context.Context, *chunk) {
		var w batchWorker
		return func(ctx context.Context, c *chunk) { w.plan(ctx, b, stream, c) }
	}, nil)
}

// inOrder has workers turn chunks of a stream into text and writes it in the
// order of the stream. worker makes what one goroutine does with each chunk;
// fail is told the errors that it leaves in one.
func inOrder(ctx context.Context, stream *delivery.Stream, out io.Writer, workers int, progress func(int),
	worker func() func(context.Context, *chunk), fail func(error),
) (Totals, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	workers = max(1, workers)
	work := make(chan *chunk, workers)
	ordered := make(chan *chunk, 4*workers)

	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			do := worker()
			for c := range work {
				do(ctx, c)
				close(c.done)
			}
		})
	}
	var readErr error
	wg.Go(func() {
		defer close(work)
		defer close(ordered)
		readErr = feed(ctx, stream, work, ordered)
	})

	var sum Totals
	var spent time.Duration
	var writeErr error
	chunks := 0
	stopped := false // nothing is written after the first chunk that broke
	for c := range ordered {
		<-c.done
		if stopped = stopped || c.broken || writeErr != nil; stopped {
			cancel()
			continue
		}
		chunks++
		sum.add(c.totals)
		spent += c.spent
		for _, err := range c.errs {
			fail(err)
		}
		if len(c.out) > 0 {
			if _, writeErr = out.Write(c.out); writeErr != nil {
				cancel()
			}
		}
		if progress != nil {
			progress(sum.Fields)
		}
	}
	wg.Wait()
	sum.PlanS = spent.Seconds() / float64(max(1, min(workers, runtime.GOMAXPROCS(0), chunks)))
	if writeErr != nil { // the reader was stopped by it
		return sum, writeErr
	}
	return sum, readErr
}

func (t *Totals) add(o Totals) {
	t.Fields += o.Fields
	t.Failed += o.Failed
	t.Rows += o.Rows
	t.Pieces += o.Pieces
	t.PlantedM += o.PlantedM
}

// feed cuts the stream into chunks and hands each to a worker and, in order,
// to the writer.
func feed(ctx context.Context, stream *delivery.Stream, work, ordered chan<- *chunk) error {
	for {
		c := &chunk{done: make(chan struct{})}
		var err error
		for len(c.raws) < chunkFields && c.size < chunkBytes && err == nil {
			var r delivery.Record
			if r, err = stream.Next(); err == nil {
				c.raws = append(c.raws, r)
				c.size += r.Bytes
			}
		}
		if len(c.raws) > 0 {
			for _, to := range []chan<- *chunk{ordered, work} {
				select {
				case to <- c:
				case <-ctx.Done():
					c.broken = true
					close(c.done) // no worker has it; the writer may wait for it
					return ctx.Err()
				}
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// batchWorker plans one chunk after another.
type batchWorker struct {
	planner  rows.Planner
	settled  settled
	features []BatchResult
}

func (w *batchWorker) plan(ctx context.Context, b Batch, stream *delivery.Stream, c *chunk) {
	w.features = w.features[:0]
	for _, raw := range c.raws {
		r := BatchResult{Number: raw.Number}
		r.Feature, r.Notes, r.Err = raw.Decode()
		w.features = append(w.features, r)
	}
	c.raws = nil
	start := time.Now()
	for i := range w.features {
		w.one(ctx, b, stream, &w.features[i])
	}
	c.spent = time.Since(start)
	if c.broken = ctx.Err() != nil; c.broken {
		return
	}
	for i := range w.features {
		r := &w.features[i]
		c.totals.count(*r)
		if b.Append != nil {
			c.out = b.Append(c.out, *r)
		}
		*r = BatchResult{} // let the layout go
	}
}

func (w *batchWorker) one(ctx context.Context, b Batch, stream *delivery.Stream, r *BatchResult) {
	if r.Err != nil {
		return
	}
	file := w.settled.file(stream, r.Feature)
	spec := b.Field
	spec.Terrain = b.Surveys != nil
	f, notes, err := field.Build(ctx, file, nil, spec)
	r.Notes = append(r.Notes, notes...)
	if err == nil && b.Surveys != nil {
		f, _, notes, err = b.Surveys.Lay(ctx, f)
		r.Notes = append(r.Notes, notes...)
	}
	if err != nil {
		r.Err = err
		return
	}
	l, notes, err := w.planner.Plan(ctx, f, b.Spec)
	r.Notes = append(r.Notes, notes...)
	r.Layout, r.Err = l, err
}

func (t *Totals) count(r BatchResult) {
	t.Fields++
	if r.Err != nil {
		t.Failed++
		return
	}
	t.Rows += len(r.Layout.Rows)
	for _, b := range r.Layout.Blocks {
		t.Pieces += b.Tally.Pieces
		t.PlantedM += b.Tally.PlantedM
	}
}

// settled is the reference of a stream with its system looked up, as long as it
// stays the same.
type settled struct{ ref, defined format.Reference }

// file is one feature of a stream as a file of its own.
func (s *settled) file(stream *delivery.Stream, f format.Feature) format.File {
	if ref := stream.Reference(); ref != s.ref {
		s.ref, s.defined = ref, field.Define(ref)
	}
	return format.File{Name: stream.Name(), Format: stream.Format(), Reference: s.defined, Features: []format.Feature{f}}
}
