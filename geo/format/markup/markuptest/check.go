// Package markuptest holds what the tests of the XML formats share.
package markuptest

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
)

// Read is the reader of a format, for text.
type Read func(in string) (format.File, error)

// NoteOf is the one note with the code.
func NoteOf(t *testing.T, f format.File, code geo.Code) geo.Note {
	t.Helper()
	var found geo.Notes
	for _, n := range f.Notes {
		if n.Code == code {
			found = append(found, n)
		}
	}
	require.Len(t, found, 1, "notes %v", f.Notes)
	return found[0]
}

// Refusal is the name of a case, a text that must be refused, and parts of the
// message and hint that are wanted.
type Refusal []string

// Refusals checks them all.
func Refusals(t *testing.T, read Read, cases []Refusal) {
	t.Helper()
	for _, c := range cases {
		t.Run(c[0], func(t *testing.T) {
			f, err := read(c[1])
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.NotEmpty(t, e.File)
			assert.Empty(t, f.Features)
			for _, w := range c[2:] {
				assert.Contains(t, e.Error()+" | "+e.Hint, w)
			}
		})
	}
}

// Coord is a position without height.
func Coord(x, y float64) format.Coord { //unit:degrees
	return format.Coord{X: x, Y: y, Z: math.NaN()}
}

// Shapes is the geometry of a feature as text; NaN is equal to itself there.
func Shapes(f format.Feature) string { return fmt.Sprint(f.Polygons, f.Lines, f.Points) }

// GDAL reads a layer with GDAL's ogr2ogr, which must be installed.
func GDAL(t *testing.T, file, layer string) []format.Feature {
	t.Helper()
	var out, fault bytes.Buffer
	cmd := exec.Command("ogr2ogr", "--config", "GPX_ELE_AS_25D", "YES", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=15", "/vsistdout/", file, layer)
	cmd.Stdout, cmd.Stderr = &out, &fault
	require.NoError(t, cmd.Run(), "this test needs gdal-bin: %s", &fault)
	f, err := geojson.Read("gdal", &out)
	require.NoError(t, err)
	return f.Features
}

// Same compares shapes with those of another reader, in degrees and metres to
// the last digits that it prints. Heights are compared where got has one.
func Same(t *testing.T, got, want []format.Feature) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		g, w := flat(got[i]), flat(want[i])
		require.Len(t, g, len(w), "feature %d", i+1)
		for k := range w {
			require.Len(t, g[k], len(w[k]), "feature %d, shape %d", i+1, k+1)
			for v := range w[k] {
				a, b := g[k][v], w[k][v]
				where := fmt.Sprintf("feature %d, shape %d, vertex %d", i+1, k+1, v+1)
				assert.InDelta(t, b.X, a.X, 1e-13*180, where)
				assert.InDelta(t, b.Y, a.Y, 1e-13*180, where)
				if a.HasZ() {
					assert.InDelta(t, b.Z, a.Z, 1e-9, where)
				}
			}
		}
	}
}

// flat is all paths of a feature.
func flat(f format.Feature) (out [][]format.Coord) {
	for _, p := range f.Polygons {
		for _, r := range p {
			out = append(out, r)
		}
	}
	out = append(out, f.Lines...)
	if len(f.Points) > 0 {
		out = append(out, f.Points)
	}
	return out
}

// Sound checks what holds of any input: a refusal says what is wrong, and what
// is read has shapes of finite numbers, notes of the closed list, and is the
// same when the text is written in UTF-16.
func Sound(t *testing.T, read Read, in string) {
	t.Helper()
	f, err := read(in)
	if err != nil {
		var e *geo.InputError
		require.ErrorAs(t, err, &e)
		assert.NotEmpty(t, e.Problem)
		assert.NotEmpty(t, e.File)
		return
	}
	require.NotEmpty(t, f.Features)
	require.True(t, f.Reference.WGS84)
	for i, one := range f.Features {
		require.True(t, i == 0 || f.Features[i-1].Number < one.Number, "numbers rise")
		require.Positive(t, one.Line)
		paths := flat(one)
		require.NotEmpty(t, paths)
		for _, path := range paths {
			require.NotEmpty(t, path)
			for _, c := range path {
				require.False(t, math.IsNaN(c.X) || math.IsInf(c.X, 0) || math.IsNaN(c.Y) || math.IsInf(c.Y, 0) || math.IsInf(c.Z, 0))
			}
		}
	}
	for _, n := range f.Notes {
		require.True(t, slices.Contains(geo.Codes(), n.Code), "%v", n)
		require.NotEmpty(t, n.Place)
	}
	wideSame(t, read, in, f)
}

// wideSame reads the text again in UTF-16.
func wideSame(t *testing.T, read Read, in string, f format.File) {
	t.Helper()
	if !utf8.ValidString(in) || strings.HasPrefix(in, "PK") || strings.Contains(strings.ToLower(in[:min(len(in), 1024)]), "encoding") || strings.HasPrefix(in, "\uFEFF") {
		return
	}
	wide, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(in)
	require.NoError(t, err)
	again, err := read(wide)
	require.NoError(t, err)
	require.Equal(t, fmt.Sprint(f.Features), fmt.Sprint(again.Features))
}

// Failing reads a text and then fails.
type Failing struct {
	Text string
	done bool
}

// ErrDisk is what it fails with.
var ErrDisk = errors.New("the disk is gone")

// Read implements io.Reader.
func (f *Failing) Read(p []byte) (int, error) {
	if f.done || f.Text == "" {
		return 0, ErrDisk
	}
	n := copy(p, f.Text)
	f.Text, f.done = f.Text[n:], n == len(f.Text)
	return n, nil
}

// Silent never reads anything.
type Silent struct{}

// Read implements io.Reader.
func (Silent) Read([]byte) (int, error) { return 0, nil }
