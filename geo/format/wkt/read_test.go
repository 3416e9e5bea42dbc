package wkt_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/wkt"
)

func read(text string) (format.File, error) { return wkt.Read("rise.wkt", strings.NewReader(text)) }

func TestRead(t *testing.T) {
	cases := []struct {
		name, text string
		lines      []int
	}{
		{"one", "POINT (1 2)", []int{1}},
		{"a line each", "POINT (1 2)\nPOINT (3 4)\n\nPOINT (5 6)\n", []int{1, 2, 4}},
		{"spread over lines", "POLYGON (\n (0 0,\n9 0, 9 5,\n0 0)\n)\r\nPOINT\r\n(3 4)", []int{1, 6}},
		{"semicolons and comments", "# corners\nPOINT (1 2); POINT (3 4);;\n  # end\nPOINT (5 6)\n#", []int{2, 2, 4}},
		{"nothing between", "POINT (1 2)POINT (3 4)", []int{1, 1}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(c.text)
			require.NoError(t, err)
			var lines []int
			for i, one := range f.Features {
				assert.Equal(t, i+1, one.Number)
				lines = append(lines, one.Line)
			}
			assert.Equal(t, c.lines, lines)
			assert.True(t, f.Reference.Silent())
			assert.Empty(t, f.Notes)
			assert.Equal(t, "rise.wkt", f.Name)
		})
	}
}

func TestReadReference(t *testing.T) {
	f, err := read("SRID=25832;POINT (1 2)\nSRID=25832;POINT (3 4)")
	require.NoError(t, err)
	assert.Equal(t, format.Reference{Code: 25832, Declared: "SRID=25832"}, f.Reference)
	f, err = read("SRID=0;POINT (1 2)\nPOINT (3 4)")
	require.NoError(t, err)
	assert.True(t, f.Reference.Silent(), "0 stands for not known")
	for name, text := range map[string]string{
		"another":       "SRID=25832;POINT (1 2)\nSRID=25833;POINT (3 4)",
		"none any more": "SRID=25832;POINT (1 2)\nPOINT (3 4)",
		"one at last":   "POINT (1 2)\nSRID=25833;POINT (3 4)",
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read(text)
			require.Error(t, err)
			assert.Contains(t, err.Error(), "rise.wkt:2: feature 2: column 1: this geometry has")
		})
	}
}

// notes are the codes of the notes with their values.
func notes(f format.File) map[geo.Code]float64 {
	out := map[geo.Code]float64{}
	for _, n := range f.Notes {
		out[n.Code] += n.Value
	}
	return out
}

// Trap 31: what is empty is left out with the number of the feature.
func TestReadEmpty(t *testing.T) {
	f, err := read("POLYGON EMPTY\nPOINT (1 2)\nMULTIPOINT (EMPTY)")
	require.NoError(t, err)
	require.Len(t, f.Features, 1)
	assert.Equal(t, 2, f.Features[0].Number)
	require.Len(t, f.Notes, 1)
	assert.Equal(t, geo.NoteFeatureLeft, f.Notes[0].Code)
	assert.Equal(t, "rise.wkt: features 1, 3", f.Notes[0].Place)
	f, err = read(strings.Repeat("POINT EMPTY\n", 12) + "LINESTRING (1 2 0,3 4 0) POLYGON ((1 2 0,3 4 0,5 6 0)) POINT (7 8)")
	require.NoError(t, err)
	assert.Equal(t, "rise.wkt: features 1, 2, 3, 4, 5, 6, 7, 8, 9, 10 and 2 more", f.Notes[0].Place)
	for text, words := range map[string]string{
		"": "holds no geometry", "# x\n": "holds no geometry", "POINT EMPTY POINT EMPTY": "nothing but 2 empty shapes",
	} {
		_, err := read(text)
		require.Error(t, err, text)
		assert.Contains(t, err.Error(), words, text)
	}
}

func TestReadNotes(t *testing.T) {
	f, err := read("LINESTRING (1 2 3,4 5)\nLINESTRING ZM (1 2 3 4,5 6 7 8)\nMULTIPOINT(EMPTY,1 2)\nPOINT Z (1 2 0)")
	require.NoError(t, err)
	assert.Equal(t, map[geo.Code]float64{
		geo.NoteHeightMissing: 2, geo.NoteMeasureLeft: 2, geo.NoteGeometryLeft: 1,
	}, notes(f))
}

func TestReadPlaces(t *testing.T) {
	_, err := read("POINT (1 2)\nPOLYGON ((0 0, 9 0,\n  9 5, 0 0),\n  (1 1, 2 x, 2 2, 1 1))")
	require.Error(t, err)
	assert.Equal(t, `rise.wkt:4: feature 2, hole 1, vertex 2: column 11: "x" is not a number`, err.Error())
}

func utf16Text(text string, little bool) string {
	var b strings.Builder
	for _, u := range utf16.Encode([]rune(text)) {
		hi, lo := byte(u>>8), byte(u)
		if little {
			hi, lo = lo, hi
		}
		b.WriteByte(hi)
		b.WriteByte(lo)
	}
	return b.String()
}

// Trap 44.
func TestReadEncodings(t *testing.T) {
	text := "# Höhe 🌳\nLINESTRING (1 2, 3 4)"
	want, err := read(text)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		text string
		code geo.Code
	}{
		"UTF-8 with mark":            {"\uFEFF" + text, geo.NoteByteMark},
		"UTF-16, little":             {utf16Text("\uFEFF"+text, true), geo.NoteRecoded},
		"UTF-16, big":                {utf16Text("\uFEFF"+text, false), geo.NoteRecoded},
		"UTF-16, little, no mark":    {utf16Text(text, true), geo.NoteRecoded},
		"UTF-16, big, no mark":       {utf16Text(text, false), geo.NoteRecoded},
		"Windows-1252 in a comment":  {"# H\xF6he\nLINESTRING (1 2, 3 4)", ""},
		"half a character in remark": {"LINESTRING (1 2, 3 4)\n# \xF0\x9F", ""},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(c.text)
			require.NoError(t, err)
			assert.Equal(t, plainText(want.Features[0]), plainText(f.Features[0]))
			if c.code != "" {
				assert.Contains(t, notes(f), c.code)
			}
		})
	}
	for name, text := range map[string]string{
		"binary":            "POINT (1 2)\x00",
		"half of UTF-16":    "\xFF\xFE" + utf16Text("POINT (1 2)", true) + "P",
		"lone second half":  "\xFF\xFE\x00\xDC",
		"wrong byte inside": "POINT (1\xA02)",
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read(text)
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "rise.wkt", e.File)
		})
	}
}

func TestReaderThatFails(t *testing.T) {
	gone := errors.New("the disk is gone")
	_, err := wkt.Read("rise.wkt", iotest.ErrReader(gone))
	require.ErrorIs(t, err, gone)
	assert.Contains(t, err.Error(), "rise.wkt")
}

func ExampleParse() {
	f, err := wkt.Parse("POLYGON Z ((0 0 281.5, 90 0 283.0, 90 50 290.2, 0 0 281.5))")
	fmt.Println(f.Polygons, err)
	_, err = wkt.Parse("POLYGON ((0 0, 90 0, 90, 0 0))")
	fmt.Println(err)
	// Output:
	// [[[{0 0 281.5} {90 0 283} {90 50 290.2} {0 0 281.5}]]] <nil>
	// vertex 3: column 22: a position has 1 number; it needs x and y
}

func ExampleRead() {
	f, err := wkt.Read("blocks.wkt", strings.NewReader("SRID=25832;POLYGON ((0 0, 9 0, 9 5, 0 0))"))
	fmt.Println(len(f.Features), f.Reference.Code, err)
	// Output: 1 25832 <nil>
}
