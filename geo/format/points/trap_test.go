package points_test

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/points"
)

// refusal is a file that must be refused.
type refusal struct {
	name, text string
	words      []string // in the error
	hint       string   // in the hint
}

func checkRefusals(t *testing.T, cases []refusal) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(c.text)
			require.Error(t, err, "%v %v", f.Features, f.Notes)
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.True(t, strings.HasPrefix(err.Error(), "rise.csv:"), "%v", err)
			for _, w := range c.words {
				assert.Contains(t, err.Error(), w)
			}
			assert.Contains(t, e.Hint, c.hint)
			assert.Empty(t, f.Features)
		})
	}
}

func TestRefuses(t *testing.T) {
	checkRefusals(t, []refusal{
		{"empty", "", []string{"the file is empty"}, ""},
		{"blanks", " \r\n\n ", []string{"the file is empty"}, ""},
		{"comments only", "# a\n# b", []string{"no row"}, ""},
		{"header only", "e,n,z\n", []string{":1: a header without any point"}, ""},
		{"header and empty rows", "e;n;z\n;;\n", []string{"a header without any point"}, ""},
		{"header only, with years", "e,n,2025,2026\n", []string{":1: a header without any point"}, ""},
		{"row much too long", "e,n\n1,2\n1,2,3,4,5,6,7,8,9,10,11,12,13\n", []string{":3: 13 columns", "12 | ..."}, ""},
		{"comment of other titles", "# foo bar baz\n7 1 2 3\n9 4 5 6\n", []string{"can be PNEZ"}, ""},
		{"prose", "Dear grower,\nplease find the points\n", []string{"no table of points", "Dear grower"}, "commas, semicolons"},
		{"one number each", "1\n2\n", []string{"no table of points"}, ""},
		{"unknown titles", "foo,bar\n1,2\n", []string{":1: no column is recognised as the easting", `"foo", "bar"`}, "option for columns"},
		{"lines above the header", "Survey of the rise\nE,N,Z\n1.5,2.5,3.5\n4.5,5.5,6.5\n", []string{":1: this is no header of the table below it, which has 3 columns"}, "with #"},
		{"no northing", "e,foo\n1,2\n", []string{"no column is recognised as the northing"}, ""},
		{"two eastings", "e,easting,n\n1,2,3\n", []string{"several columns can be the easting"}, ""},
		{"units differ", "e (ft),n (m)\n1,2\n", []string{"units of columns"}, "one unit"},
		{"no easting here", "e,n,z\n1,2,3\n,5,6\n", []string{":3:", `column 1 "e": is empty`}, "measure the point again"},
		{"NaN", "e,n\n1,2\n3,NaN\n", []string{":3:", `column 2 "n": is empty`}, ""},
		{"endless", "e,n\n1,2\n3,Inf\n", []string{":3:", `column 2 "n": "Inf" is no number`}, ""},
		{"hexadecimal", "e,n\n1,2\n3,0x1F\n", []string{`"0x1F" is no number`}, ""},
		{"overflow", "e,n\n1,2\n3,1e999\n", []string{`"1e999" is no number`}, ""},
		{"text", "e,n\n1,2\n3,gate\n", []string{":3:", `"gate" is no number`}, ""},
		{"height of text", "e,n,z\n1,2,3\n3,4,high\n", []string{":3:", `column 3 "z": "high" is no number`}, ""},
		{"row too short", "e,n,z\n1,2,3\n3,4\n", []string{":3: 2 columns where the header has 3: 3 | 4"}, "leave no column out"},
		{"row too long", "e,n,z\n1,2,3\n3,4,5,6\n", []string{":3: 4 columns where the header has 3"}, "semicolons"},
		{"row too short, no header", "1.5 2.5 3.5\n1.5 2.5 3.5\n3 4\n", []string{":3: 2 columns where the first row has 3"}, ""},
		{"open quotation mark", "e,n\n1,2\n3,\"4\n5,6\n", []string{":3: a quotation mark is never closed"}, ""},
		{"text behind a quotation mark", "e,n\n1,2\n3,\"4\"5\n", []string{":3: text follows after a closing"}, ""},
		{"longitude of metres", "lon,lat\n500000.5,5200000.5\n", []string{":2:", `column 1 "lon": 500000.5 is no longitude`}, "metres"},
		{"swapped degrees", "lon,lat\n46.95,115.4\n", []string{"115.4 is no latitude"}, "wrong way round"},
	})
}

// Trap 37: a fix at 0, 0 among others.
func TestOrigin(t *testing.T) {
	checkRefusals(t, []refusal{
		{"grid", "e,n\n500000,5200000\n0,0\n500010,5200000\n", []string{":3: the position is 0, 0, far from all others"}, "measure the point again"},
		{"degrees", "lat,lon\n0.0,0\n46.95,15.45\n46.96,15.46", []string{":2: the position is 0, 0"}, ""},
		{"at the start", "0,0,0\n500000.5,5200000.5,9\n500010.5,5200000.5,9\n", []string{":1: the position is 0, 0"}, ""},
	})
	f, err := read("e,n\n0,0\n90,0\n90,50\n20,70\n")
	require.NoError(t, err, "a corner of a local grid")
	requireOne(t, f, at(0, 0, nan), at(90, 0, nan), at(90, 50, nan), at(20, 70, nan))
	f, err = read("lon,lat\n-0.001,-0.001\n0,0\n0.001,0.001\n")
	require.NoError(t, err, "a field where the equator meets Greenwich")
	require.Len(t, f.Features[0].Points, 3)
}

// Trap 44: byte order marks, UTF-16, and other code pages.
func TestEncodings(t *testing.T) {
	text := "Punkt;Länge;Breite;Höhe\nTür 🌳;15,45;46,95;365,8\n\"a;ß\";15,46;46,96;366\n"
	want, err := read(text)
	require.NoError(t, err)
	assert.Equal(t, []string{"Tür 🌳", "a;ß"}, want.Features[0].Properties[points.PropNames])
	wide := func(text string, little bool) string {
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
	for name, c := range map[string]struct {
		text string
		code geo.Code
	}{
		"UTF-8 with mark":         {"\uFEFF" + text, geo.NoteByteMark},
		"UTF-16, little":          {wide("\uFEFF"+text, true), geo.NoteRecoded},
		"UTF-16, big":             {wide("\uFEFF"+text, false), geo.NoteRecoded},
		"UTF-16, little, no mark": {wide(text, true), geo.NoteRecoded},
		"UTF-16, big, no mark":    {wide(text, false), geo.NoteRecoded},
	} {
		t.Run(name, func(t *testing.T) {
			for _, in := range []io.Reader{strings.NewReader(c.text), iotest.OneByteReader(strings.NewReader(c.text))} {
				f, err := points.Read("rise.csv", in, points.Options{})
				require.NoError(t, err)
				noteOf(t, f, c.code)
				assert.Equal(t, want.Features, f.Features)
			}
		})
	}
	f, err := read("Punkt;L\xE4nge;Breite;H\xF6he\nT\xFCr;15,45;46,95;365,8\n\x80uro;15,46;46,96;366\n")
	require.NoError(t, err)
	assert.Equal(t, []string{"Tür", "€uro"}, f.Features[0].Properties[points.PropNames])
	assert.True(t, f.Reference.WGS84)
	assert.InDelta(t, 4, noteOf(t, f, geo.NoteTextGuessed).Value, 0)
	checkRefusals(t, []refusal{
		{"half of UTF-16", "\xFF\xFE" + wide("e;n\n1;2\n3;", true) + "4", []string{":3:", "is no number"}, ""},
		{"lone half", "\xFF\xFE" + wide("e;n\n1;2\n3;", true) + "\x00\xD8", []string{":3:", "is no number"}, ""},
		{"binary", "e;n\n\x00\x01", []string{"no text"}, ""},
		{"binary later", "e;n\n" + strings.Repeat("1;2\n", 1<<17) + "3;\x00\n", []string{":131074:", "is no number"}, ""},
	})
}

func TestForeign(t *testing.T) {
	checkRefusals(t, []refusal{
		{"zip or spreadsheet", "PK\x03\x04\x14", []string{"spreadsheet"}, "CSV"},
		{"old spreadsheet", "\xD0\xCF\x11\xE0\xA1", []string{"spreadsheet"}, "CSV"},
		{"gzip", "\x1F\x8B\x08", []string{"compressed"}, ""},
		{"GeoPackage", "SQLite format 3\x00", []string{"GeoPackage"}, ""},
		{"PDF", "%PDF-1.7", []string{"PDF"}, ""},
		{"point cloud", "LASF\x00", []string{"LAS"}, "export"},
		{"page", "<!doctype html>", []string{"page"}, ""},
		{"JSON", `{"type":"Feature"}`, []string{"JSON"}, ".geojson"},
		{"NMEA", "$GNGGA,101530.20,4657.00323826,N,01527.00472896,E,4,18,0.6,365.812,M,46.538,M,1.2,0031*5D", []string{"NMEA"}, ""},
	})
}

// Trap 52: angles. The expected values are worked out by hand: 57' is 0.95
// degrees, 0.36" is 0.0001.
func TestAngles(t *testing.T) {
	for name, text := range map[string]string{
		"marks":                    "lat,lon\n46°57'00.36\"N,15°27'00.36\"W",
		"quoted marks":             "lat,lon\n\"46°57'00.36\"\"N\",\"15°27'00.36\"\"W\"",
		"marks, no header":         "46°57'00.36\"N,15°27'00.36\"W",
		"longitude first":          "15°27'00.36\"W;46°57'00.36\"N",
		"blanks":                   "lat,lon\n46 57 00.36 N,15 27 00.36 W",
		"blanks, no header":        "a,46 57 00.36 N,15 27 00.36 W",
		"colons and signs":         "lat,lon\n46:57:00.36,-15:27:00.36",
		"true marks":               "lat;lon\n46° 57′ 00,36″ N;15° 27′ 00,36″ W",
		"ordinal mark":             "lat;lon\n46º57'00.36''N;15º27'00.36''W",
		"minutes":                  "lat,lon\n46°57.006'N,15°27.006'W",
		"minutes, blanks":          "lat,lon\n46 57.006,-15 27.006",
		"degrees with letters":     "lat,lon\n46.9501N,15.4501W",
		"letters before":           "lat,lon\nN46.9501,W15.4501",
		"small letters":            "lat,lon\n46.9501n,15.4501 w",
		"degree marks":             "lat,lon\n46.9501°,-15.4501°",
		"packed minutes":           "4657.006N,01527.006W",
		"packed, no zero in front": "4657.006N,1527.006W",
		"packed seconds":           "465700.36N 0152700.36W",
		"Windows-1252":             "lat,lon\n46\xB057'00.36\"N,15\xB027'00.36\"W",
		"northing and easting":     "N;E\n46°57'00.36\";-15°27'00.36\"",
	} {
		t.Run(name, func(t *testing.T) {
			f, err := read(text)
			require.NoError(t, err)
			p := f.Features[0].Points[0]
			assert.InDelta(t, -15.4501, p.X, 1e-12)
			assert.InDelta(t, 46.9501, p.Y, 1e-12)
			assert.True(t, f.Reference.WGS84)
		})
	}
	f, err := read("P1,46°57'00.36\"S,15°27'00.36\"E,365.8,gate\nP2,46°57'00.36\"S,15°27'00.36\"E,365.9,corner")
	require.NoError(t, err)
	assert.InDelta(t, -46.9501, f.Features[0].Points[0].Y, 1e-12)
	assert.InDelta(t, 365.8, f.Features[0].Points[0].Z, 0)
	assert.Equal(t, []string{"gate", "corner"}, f.Features[0].Properties[points.PropCodes])
	assert.Equal(t, []string{"P1", "P2"}, f.Features[0].Properties[points.PropNames])
	rows := func(second string) string { return "lat,lon\n46°57'00.36\"N,15°27'00.36\"W\n" + second }
	checkRefusals(t, []refusal{
		{"another form", rows("46.95N,15.45W"), []string{":3:", `column 2 "lon"`, "not written in the form of the first row"}, "the same form"},
		{"letter missing", rows("46°57'00.36\",15°27'00.36\""), []string{":3:", "not written in the form"}, ""},
		{"plain", rows("46.95,15.45"), []string{":3:", "no angle as in the first row"}, ""},
		{"sixty minutes", rows("46°60'00.36\"N,15°27'00.36\"W"), []string{"minutes are 60 or more"}, ""},
		{"sixty seconds", rows("46°57'60\"N,15°27'00.36\"W"), []string{"seconds are 60 or more"}, ""},
		{"fraction of minutes", rows("46°57.5'10\"N,15°27'00.36\"W"), []string{`"57.5" is no number of minutes`}, ""},
		{"too far north", rows("96°57'00\"N,15°27'00.36\"W"), []string{"more than 90 degrees"}, ""},
		{"other axis", rows("15°27'00.36\"W,46°57'00.36\"N"), []string{`belongs to the other axis`}, ""},
		{"sign and letter", rows("-46°57'00.36\"S,15°27'00.36\"W"), []string{"both a sign and a letter"}, ""},
		{"O", rows("46°57'00.36\"N,15°27'00.36\"O"), []string{"east in German and west in French"}, ""},
		{"missing", rows(",15°27'00.36\"W"), []string{"is empty"}, ""},
		{"angle after plain", "lat,lon\n46.95,15.45\n46°57'00.36\"N,15°27'00.36\"W", []string{":3:", "is an angle, where the first row has a plain number"}, ""},
	})
}

// Trap 53: the comma.
func TestDecimalComma(t *testing.T) {
	checkRefusals(t, []refusal{
		{
			"two ways", "1929078,144,5582610,153\n1929133,654,5582626,510\n",
			[]string{":1:", "(1929078 | 144 | 5582610 | 153)", "(1929078,144 | 5582610,153)"},
			"EN or PNEZ",
		},
		{"three pairs", "1929078,144,5582610,153,174,216\n", []string{"(1929078,144 | 5582610,153 | 174,216)"}, ""},
		{"a point number and two pairs", "1,1929078,144,5582610,153\n", []string{"every second one a decimal mark"}, ""},
		{"header of an odd count", "E,N,Z\n1929078,144,5582610,153\n", []string{"4 columns where the header has 3"}, "semicolons"},
		{"tabs, three behind", "123,456\t789,012\n234,567\t890,123\n", []string{"(123.456 | 789.012)", "(123456 | 789012)"}, "decimal mark"},
		{"both marks", "e;n\n1,5;2,5\n1,5;2.5\n", []string{":3:", `column 2 "n"`, `"2.5" has a decimal point where the file has decimal commas`}, "one decimal mark"},
		{"thousands, one column", "e;n\n1.5;2.5\n1.929.078;2.5", []string{`"1.929.078" has separators of thousands`}, ""},
		{"thousands, English", "e;n\n1.5;2.5\n1,929,078.144;5,582,610.153", []string{":3:", `"1,929,078.144" has separators of thousands`}, "without them"},
		{"thousands, German", "e;n\n1,5;2,5\n1.929.078,144;2,5", []string{`"1.929.078,144" has separators of thousands`}, ""},
		{"thousands, Swiss", "e;n\n1.5;2.5\n2'600'000.5;2.5", []string{`"2'600'000.5" has separators of thousands`}, ""},
		{"thousands, blanks", "e;n\n1.5;2.5\n2 600 000.5;2.5", []string{`"2 600 000.5" has separators of thousands`}, ""},
		{"thousands, hard blanks", "e;n\n1.5;2.5\n2\u00A0600\u00A0000;2.5", []string{`has separators of thousands`}, ""},
	})
	want := "[{1.929078144e+06 5.582610153e+06 NaN} {1.929133654e+06 5.58262651e+06 NaN}]"
	for name, c := range map[string]struct {
		text string
		opt  points.Options
	}{
		"by the header":  {"Easting,Northing\n1929078,144,5582610,153\n1929133,654,5582626,510\n", points.Options{}},
		"by the columns": {"1929078,144,5582610,153\n1929133,654,5582626,510\n", points.Options{Columns: "EN"}},
		"by the mark":    {"1929078,144,5582610,153\n1929133,654,5582626,510\n", points.Options{Decimal: "comma"}},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := points.Read("rise.csv", strings.NewReader(c.text), c.opt)
			require.NoError(t, err)
			require.Len(t, f.Features, 1)
			assert.Equal(t, want, strings.ReplaceAll(strings.TrimSpace(sprint(f)), "  ", " "))
			assert.Contains(t, noteOf(t, f, geo.NoteColumns).Text, "every second comma")
		})
	}
	f, err := readWith("PNEZ", "1929078,144,5582610,153\n1929133,654,5582626,510\n")
	require.NoError(t, err)
	requireOne(t, f, at(5582610, 144, 153), at(5582626, 654, 510))
	f, err = points.Read("rise.csv", strings.NewReader("123,456\t789,012\n234,567\t890,123\n"), points.Options{Decimal: "comma"})
	require.NoError(t, err)
	requireOne(t, f, at(123.456, 789.012, nan), at(234.567, 890.123, nan))
	_, err = points.Read("rise.csv", strings.NewReader("1,2\n"), points.Options{Decimal: ";"})
	require.Error(t, err)
}

// Trap 54: columns without names.
func TestUndecided(t *testing.T) {
	checkRefusals(t, []refusal{
		{
			"point and three numbers", "7,5582610.1,1929078.1,174.2\n9,5582611.1,1929079.1,174.3",
			[]string{":1:", "PNEZ (point 7, northing 5582610.1, easting 1929078.1, height 174.2)", "PENZ (point 7, easting 5582610.1"},
			"PNEZ or PENZ",
		},
		{"name and two numbers", "A1,10.5,20.5\nA2,11.5,21.5", []string{"PNE (point A1, northing 10.5", "PEN (point A1, easting 10.5"}, "PNE or PEN"},
		{"numbered", "1 10.5 20.5\n2 11.5 21.5", []string{"PEN (point 1, easting 10.5", "ENZ (easting 1, northing 10.5"}, ""},
		{"text between", "1.5,gate,2.5\n1.5,gate,2.5", []string{"does not say what its columns hold: 1.5 | gate | 2.5"}, "option for columns"},
		{"blanks of thousands", "929 078,144 582 610,153 174,216\n929 079,144 582 611,153 174,217", []string{"the columns can be PNEZ (point 929"}, ""},
	})
	f, err := read("500000 5200000 123.4\n500001 5200000 123.5\n500002 5200000 123.6\n")
	require.NoError(t, err, "a grid of whole metres is no list of numbered points")
	requireOne(t, f, at(500000, 5200000, 123.4), at(500001, 5200000, 123.5), at(500002, 5200000, 123.6))
}

func TestLimits(t *testing.T) {
	_, err := points.Read("rise.csv", io.MultiReader(strings.NewReader("e,n\n1,2\n"), endless("# "+strings.Repeat("long remark ", 400)+"\n")), points.Options{})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "larger than 512 MiB")
	_, err = points.Read("rise.csv", endless("1.5,"), points.Options{})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "the row is longer than 16 MiB")
	_, err = read("e,n\n1,2\n3,\"" + strings.Repeat("4\n", 10<<20))
	require.Error(t, err)
	assert.Contains(t, err.Error(), "the row is longer than 16 MiB")
}

// endless repeats a text for ever.
type endless string

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for n+len(e) <= len(p) {
		n += copy(p[n:], e)
	}
	if n == 0 {
		n = copy(p, e[:len(p)])
	}
	return n, nil
}

type silent struct{}

func (silent) Read([]byte) (int, error) { return 0, nil }

func TestReaderThatFails(t *testing.T) {
	gone := errors.New("the disk is gone")
	text := "e,n\n1,2\n3,4\n" + strings.Repeat("5,6\n", 1<<17)
	for _, n := range []int{0, 5, 100 << 10, 400 << 10} {
		in := strings.NewReader(text[:n])
		_, err := points.Read("rise.csv", &failing{in, gone}, points.Options{})
		require.ErrorIs(t, err, gone, "%d", n)
		assert.Contains(t, err.Error(), "rise.csv")
	}
	_, err := points.Read("rise.csv", silent{}, points.Options{})
	require.Error(t, err)
}

// failing reads a text and then fails.
type failing struct {
	r   *strings.Reader
	err error
}

func (f *failing) Read(p []byte) (int, error) {
	if f.r.Len() == 0 {
		return 0, f.err
	}
	return f.r.Read(p)
}
