package shapefile_test

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
)

// textLayer is one point with one text.
func textLayer(language byte, cpg, text string) files {
	shp, shx := mainFile(point, append(le32(point), doubles(1, 2)...))
	f := files{"a.shp": shp, "a.shx": shx, "a.dbf": tableFile(language, nameField, []string{" ", text})}
	if cpg != "" {
		f["a.cpg"] = []byte(cpg)
	}
	return f
}

// The encoding of text: the .cpg if it fits, UTF-8, the language byte,
// Windows-1252; geometry never fails for it.
func TestTrapTextEncoding(t *testing.T) {
	const (
		utf8     = "Obstg\u00e4rten"
		latin    = "Obstg\xe4rten"
		central  = "\x8eatec" // in 1250; the same letters in 1252
		cyrillic = "\xd1\xe0\xe4"
		dos      = "Obstg\x84rten"
		cutUTF8  = "\u010de\u0161n\u011b, \u0161vestk\u0079 \xc4"
	)
	for name, c := range map[string]struct {
		language  byte
		cpg, in   string
		want      string
		isGuessed bool
	}{
		"ASCII":                   {0, "", "Kestrel Rise", "Kestrel Rise", false},
		"UTF-8 by cpg":            {0, "UTF-8", utf8, "Obstgärten", false},
		"UTF-8 by cpg, BOM":       {0, "\xef\xbb\xbfutf8\r\n", utf8, "Obstgärten", false},
		"UTF-8 without cpg":       {0x57, "", utf8, "Obstgärten", false},
		"UTF-8 cut in the middle": {0, "65001", cutUTF8, "češně, švestky ", false},
		"cpg lies: UTF-8":         {0x03, "UTF-8", latin, "Obstgärten", true},
		"cpg lies, nothing known": {0, "UTF-8", latin, "Obstgärten", true},
		"cpg 1252":                {0, "1252", latin, "Obstgärten", false},
		"cpg Latin-1":             {0, "ISO-8859-1", latin, "Obstgärten", false},
		"cpg Latin-1, short":      {0, "88591", latin, "Obstgärten", false},
		"cpg 1250":                {0, "CP1250", central, "Žatec", false},
		"cpg 1251":                {0, "ANSI 1251", cyrillic, "Сад", false},
		"cpg 8859-5":              {0, "ISO 8859-5", "\xc1\xd0\xd4", "Сад", false},
		"cpg DOS":                 {0, "OEM 850", dos, "Obstgärten", false},
		"cpg language":            {0, "LDID/201", cyrillic, "Сад", false},
		"cpg unknown":             {0xC9, "KLINGON", cyrillic, "Сад", false},
		"language 1251":           {0xC9, "", cyrillic, "Сад", false},
		"language DOS":            {0x02, "", dos, "Obstgärten", false},
		"language ANSI":           {0x57, "", latin, "Obstgärten", false},
		"nothing":                 {0, "", latin, "Obstgärten", true},
		"language unknown":        {0x7A, "", latin, "Obstgärten", true},
	} {
		t.Run(name, func(t *testing.T) {
			f := mustRead(t, textLayer(c.language, c.cpg, c.in), "a.shp")
			assert.Equal(t, c.want, f.Features[0].Properties["NAME"])
			if c.isGuessed {
				assert.Equal(t, 1.0, noteOf(t, f.Notes, geo.NoteTextGuessed).Value)
			} else {
				assert.Empty(t, f.Notes)
			}
		})
	}
	shp := layer()
	shp["north.dbf"] = tableFile(0, []tableField{{"B\xc4UME", 'C', 4}}, []string{" ", "a"}, []string{" ", "b"})
	assert.Contains(t, mustRead(t, shp, "north.shp").Features[0].Properties, "BÄUME", "names of fields too")
}

// Language bytes mean what GDAL takes them for, over all bytes that have a
// letter there. Outside value: ogr2ogr (GDAL, Debian gdal-bin).
func TestLanguageBytesEqualGDAL(t *testing.T) {
	letters := ""
	for c := 0xA7; c <= 0xFF; c += 6 {
		letters += string([]byte{byte(c)})
	}
	compared := 0
	for _, language := range []byte{0x01, 0x02, 0x03, 0x08, 0x0A, 0x24, 0x26, 0x57, 0x64, 0x65, 0x6C, 0xC8, 0xC9, 0xCB, 0xCC} {
		f := textLayer(language, "", letters)
		want, ok := ogr(t, filepath.Join(folder(t, f), "a.shp"))[0].Properties["NAME"].(string)
		require.True(t, ok)
		got := mustRead(t, f, "a.shp").Features[0].Properties["NAME"]
		assert.Equal(t, want, got, "language byte %#x", language)
		compared++
	}
	assert.Equal(t, 15, compared)
}

// Values of every type, by hand, as the reader of GeoJSON gives them.
func TestValues(t *testing.T) {
	for name, c := range map[string]struct {
		kind byte
		in   string
		want any
	}{
		"text":                    {'C', "plum   ", "plum"},
		"text, leading blanks":    {'C', "  plum", "  plum"},
		"text, blank":             {'C', "     ", nil},
		"text, NUL":               {'C', "plum\x00\x00xx", "plum"},
		"number":                  {'N', "   12.50", json.Number("12.50")},
		"float":                   {'F', "1.5e+03", json.Number("1.5e+03")},
		"negative":                {'N', "-3", json.Number("-3")},
		"zero":                    {'N', "0", json.Number("0")},
		"leading zeros":           {'N', "007", json.Number("7")},
		"plus":                    {'N', "+5", json.Number("5")},
		"no digit before":         {'N', "-.5", json.Number("-0.5")},
		"no digit behind":         {'N', "5.", json.Number("5")},
		"decimal comma":           {'N', "5,25", json.Number("5.25")},
		"number, blank":           {'N', "      ", nil},
		"number too wide":         {'N', "******", nil},
		"number that is text":     {'N', "1-2", nil},
		"number, a point only":    {'N', ".", nil},
		"number of 18 digits":     {'N', "123456789012345678", json.Number("123456789012345678")},
		"flag":                    {'L', "T", true},
		"flag no":                 {'L', "n", false},
		"flag not set":            {'L', "?", nil},
		"date":                    {'D', "20261125", "2026-11-25"},
		"date, blank":             {'D', "        ", nil},
		"date, zeros":             {'D', "00000000", nil},
		"date that is none":       {'D', "20261399", "20261399"},
		"FoxPro whole number":     {'I', string(le32(-7)), json.Number("-7")},
		"level 7 count":           {'+', "\x80\x00\x00\x05", json.Number("5")},
		"level 7 double":          {'O', "\xbf\xf0\x00\x00\x00\x00\x00\x00", json.Number("1")},
		"level 7 double negative": {'O', "\x40\x0f\xff\xff\xff\xff\xff\xff", json.Number("-1")},
		"FoxPro double":           {'B', string(doubles(2.5)), json.Number("2.5")},
		"FoxPro currency":         {'Y', string(le32(-12345)) + "\xff\xff\xff\xff", json.Number("-1.2345")},
		"FoxPro time":             {'T', string(le32(2440588)) + string(le32(3_661_000)), "1970-01-01T01:01:01"},
		"time, none":              {'@', string(le32(0)) + string(le32(0)), nil},
	} {
		t.Run(name, func(t *testing.T) {
			l := textLayer(0, "", "")
			l["a.dbf"] = tableFile(0, []tableField{{"V", c.kind, len(c.in)}}, []string{" ", c.in})
			f := mustRead(t, l, "a.shp")
			got, ok := f.Features[0].Properties["V"]
			require.True(t, ok)
			assert.Equal(t, c.want, got)
			assert.Empty(t, f.Notes)
		})
	}
}

func TestMemosAreLeftOut(t *testing.T) {
	l := textLayer(0, "", "")
	l["a.dbf"] = tableFile(0, []tableField{{"TEXT", 'M', 10}, {"NAME", 'C', 5}, {"PICTURE", 'G', 10}},
		[]string{" ", "1", "hazel", "2"})
	f := mustRead(t, l, "a.shp")
	assert.Equal(t, map[string]any{"NAME": "hazel"}, f.Features[0].Properties)
	assert.Equal(t, "2 memo or binary fields are not read: TEXT (type 'M'), PICTURE (type 'G')", noteOf(t, f.Notes, geo.NoteColumnLeft).Text)
}

func TestFieldsOfTheSameName(t *testing.T) {
	l := textLayer(0, "", "")
	l["a.dbf"] = tableFile(0, []tableField{{"A", 'C', 1}, {"A", 'C', 1}, {"", 'C', 1}}, []string{" ", "x", "y", "z"})
	assert.Equal(t, map[string]any{"A": "x", "A_2": "y", "field_3": "z"}, mustRead(t, l, "a.shp").Features[0].Properties)
}

// Clipper keeps the high byte of a long text where others keep decimals.
func TestLongText(t *testing.T) {
	long := fmt.Sprintf("%-300s", "a long story")
	l := textLayer(0, "", "")
	dbf := tableFile(0, []tableField{{"STORY", 'C', 44}, {"END", 'C', 1}}, []string{" ", "", ""})
	dbf[32+17] = 1 // 256 more
	dbf[10], dbf[11] = byte(302&0xFF), byte(302>>8)
	l["a.dbf"] = append(dbf[:32+64+1], " "+long+"x\x1a"...)
	assert.Equal(t, map[string]any{"STORY": "a long story", "END": "x"}, mustRead(t, l, "a.shp").Features[0].Properties)
}

func TestDamagedTables(t *testing.T) {
	good := names("one", "two")
	with := func(at int, v ...byte) []byte {
		b := append([]byte(nil), good...)
		copy(b[at:], v)
		return b
	}
	for name, c := range map[string]struct {
		dbf  []byte
		want string
	}{
		"empty":          {nil, "the file is empty"},
		"HTML":           {[]byte("<html>"), "an HTML page"},
		"short":          {good[:20], "ends at byte 20"},
		"no header size": {with(8, 0, 0), "claims 0 bytes for itself"},
		"no row size":    {with(10, 0, 0), "0 for a row"},
		"rows too short": {with(10, 5, 0), "fields need 21 bytes, a row has 5"},
		"no end":         {with(8, 60, 0), "list of fields has no end"},
		"too many rows":  {with(4, 255, 255, 255, 255), "4294967295 rows"},
	} {
		t.Run(name, func(t *testing.T) {
			l := layer()
			l["north.dbf"] = c.dbf
			_, err := read(l, "north.shp")
			e := refused(t, err)
			assert.Equal(t, "north.dbf", e.File)
			assert.Contains(t, e.Problem, c.want)
		})
	}
}

// Decode may run in many goroutines at once; the race detector watches.
func TestDecodeInParallel(t *testing.T) {
	want := readPath(t, "testdata/dk-marker-utm32.zip", optNone)
	s, raws := rawsOf(t, "testdata/dk-marker-utm32.zip")
	got := make([]format.Feature, len(raws))
	done := make(chan error)
	for i := range raws {
		go func() {
			f, _, err := s.Decode(raws[i])
			got[i] = f
			done <- err
		}()
	}
	for range raws {
		require.NoError(t, <-done)
	}
	assert.Equal(t, fmt.Sprint(want.Features), fmt.Sprint(got))
}
