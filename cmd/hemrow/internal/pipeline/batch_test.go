package pipeline

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strconv"
	"testing"
	"testing/fstest"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/cmd/hemrow/internal/plan"
	"hemrow/geo"
	"hemrow/geo/field"
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

// Batch lays fields on a survey of heights, and answers features that carry the
// obstacle mark with an error.
func TestBatchOnTerrain(t *testing.T) {
	fsys := fstest.MapFS{
		"f.geojson": {Data: []byte(`{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"name":"Upper"},"geometry":{"type":"Polygon","coordinates":[[[17.5,48.2],[17.504,48.2],[17.504,48.202],[17.5,48.202],[17.5,48.2]]]}},
{"type":"Feature","properties":{"name":"Pond","keep":"clear"},"geometry":{"type":"Polygon","coordinates":[[[17.501,48.201],[17.502,48.201],[17.502,48.2015],[17.501,48.201]]]}},
{"type":"Feature","properties":{"name":"Far"},"geometry":{"type":"Polygon","coordinates":[[[18.5,48.2],[18.504,48.2],[18.504,48.202],[18.5,48.202],[18.5,48.2]]]}}]}`)},
		"h.csv": {Data: []byte("lon,lat,height\n17.499,48.199,200\n17.505,48.199,200\n17.505,48.203,240\n17.499,48.203,240\n17.502,48.201,220\n")},
	}
	find := func(name string) delivery.Source { return delivery.Source{FS: fsys, Path: name} }
	p := plan.Default()
	p.Terrain.Heights = []string{"h.csv"}
	s, err := OpenSurveys(p, find, nil)
	require.NoError(t, err)
	defer s.Close()
	var lines []string
	b := Batch{Spec: yardstickSpec(), Field: field.Spec{ObstacleMark: "keep=clear"}, Surveys: s, Workers: 2}
	b.Append = func(out []byte, r BatchResult) []byte {
		switch {
		case r.Err != nil:
			lines = append(lines, r.Feature.Name+": "+r.Err.Error())
		default:
			row := r.Layout.Rows[0].Pieces[0]
			require.NotNil(t, row.Slope)
			assert.Greater(t, row.GroundM, row.PlanM*1.001)
			lines = append(lines, r.Feature.Name)
		}
		return out
	}
	stream, err := delivery.OpenStream(find("f.geojson"), delivery.Options{})
	require.NoError(t, err)
	sum, err := b.Run(context.Background(), stream, io.Discard)
	require.NoError(t, err)
	assert.Equal(t, 3, sum.Fields)
	assert.Equal(t, 2, sum.Failed)
	require.Len(t, lines, 3)
	assert.Equal(t, "Upper", lines[0])
	assert.Contains(t, lines[1], "Pond: f.geojson: every feature is marked as an obstacle")
	assert.Contains(t, lines[2], "Far: h.csv: the heights do not cover any of the field")
}

func TestLayerBehindAName(t *testing.T) {
	for name, want := range map[string]string{"parcels.zip": "", "parcels.zip#wells": "wells", "a#b.zip#c": "c"} {
		assert.Equal(t, want, layerOf(name), name)
	}
	fsys := fstest.MapFS{"odd#name.csv": {Data: []byte("x")}, "parcels.zip": {Data: []byte("x")}}
	in := inputs{find: func(name string) delivery.Source { return delivery.Source{FS: fsys, Path: name} }}
	assert.Equal(t, "parcels.zip", in.locate("parcels.zip#wells").Path)
	assert.Equal(t, "odd#name.csv", in.locate("odd#name.csv").Path, "a file so called")
}
