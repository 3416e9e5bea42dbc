package pipeline

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strconv"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/delivery"
	"hemrow/rows"
)

func line(b []byte, r BatchResult) []byte {
	if r.Err != nil {
		return append(b, "error\n"...)
	}
	b = strconv.AppendInt(b, int64(r.Number), 10)
	return append(b, '\n')
}

// failing is a writer that fails after some bytes.
type failing struct{ left int }

var errFull = errors.New("no space left")

func (f *failing) Write(b []byte) (int, error) {
	if f.left -= len(b); f.left < 0 {
		return 0, errFull
	}
	return len(b), nil
}

func TestBatchKeepsOrder(t *testing.T) {
	text := yardstickText(500)
	var want []byte
	for _, workers := range []int{1, 2, 7} {
		var out bytes.Buffer
		sum, err := Batch{Spec: yardstickSpec(), Workers: workers, Append: line}.Run(context.Background(), delivery.Features("x", bytes.NewReader(text)), &out)
		require.NoError(t, err)
		assert.Equal(t, 500, sum.Fields)
		assert.Zero(t, sum.Failed)
		if want == nil {
			want = out.Bytes()
			assert.True(t, bytes.HasPrefix(want, []byte("1\n2\n3\n")))
		}
		assert.Equal(t, string(want), out.String())
	}
}

// A writer that fails ends the run with its own error and no other.
func TestBatchStopsWhenWritingFails(t *testing.T) {
	text := yardstickText(2000)
	_, err := Batch{Spec: yardstickSpec(), Workers: 3, Append: line}.Run(context.Background(), delivery.Features("x", bytes.NewReader(text)), &failing{left: 300})
	require.ErrorIs(t, err, errFull)
	assert.NotErrorIs(t, err, context.Canceled)
}

// endless repeats a text for ever and cancels after a while.
type endless struct {
	text   []byte
	at, n  int
	cancel func()
}

func (e *endless) Read(b []byte) (int, error) {
	if e.n++; e.n == 40 {
		e.cancel()
	}
	k := copy(b, e.text[e.at:])
	e.at = (e.at + k) % len(e.text)
	return k, nil
}

// Cancelled in the middle, a batch ends with the context's error, and what it
// wrote are whole results: no field is called faulty because it was not reached.
func TestBatchCancelled(t *testing.T) {
	for _, workers := range []int{1, 4} {
		ctx, cancel := context.WithCancel(context.Background())
		var out bytes.Buffer
		_, err := Batch{Spec: yardstickSpec(), Workers: workers, Append: line}.Run(ctx, delivery.Features("x", &endless{text: yardstickText(50), cancel: cancel}), &out)
		require.ErrorIs(t, err, context.Canceled)
		assert.NotContains(t, out.String(), "error")
		for i, line := range bytes.Fields(out.Bytes()) {
			require.Equal(t, strconv.Itoa(i+1), string(line), "no gap in what was written")
		}
		cancel()
	}
}

func TestBatchOfNothing(t *testing.T) {
	sum, err := Batch{Spec: yardstickSpec()}.Run(context.Background(), delivery.Features("x", bytes.NewReader([]byte(`{"type":"FeatureCollection","features":[]}`))), io.Discard)
	require.NoError(t, err)
	assert.Zero(t, sum.Fields)
}

// A working area that cannot be confirmed is left out with a note.
func TestWorkingAreaLeftOut(t *testing.T) {
	cross := orb.Polygon{{{0, 0}, {100, 100}, {100, 0}, {0, 100}, {0, 0}}} // faulty on purpose
	l := rows.Layout{Spec: yardstickSpec(), Field: geo.Field{Blocks: []geo.Block{{Name: "A", Outline: cross}}}, Blocks: []rows.Block{{Name: "A"}}}
	areas, notes := workingAreas(l)
	assert.Len(t, areas, 1)
	assert.Empty(t, areas[0])
	require.Len(t, notes, 1)
	assert.Equal(t, geo.NoteAreaNotDrawn, notes[0].Code)
}
