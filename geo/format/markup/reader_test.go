package markup_test

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
	"hemrow/geo/format/markup/markuptest"
)

// outline is the elements of a file with their texts, indented by depth.
func outline(r *markup.Reader) (string, error) {
	root, err := r.Root()
	if err != nil {
		return "", err
	}
	var b strings.Builder
	var walk func(e markup.Element, depth int) error
	walk = func(e markup.Element, depth int) error {
		fmt.Fprintf(&b, "%s%s:%d\n", strings.Repeat(" ", depth), e.Name, e.Line)
		if e.Name == "t" {
			text, line, err := r.Text()
			fmt.Fprintf(&b, "%s%q:%d\n", strings.Repeat(" ", depth+1), text, line)
			return err
		}
		return r.Each(func(e markup.Element) error {
			if e.Name == "skip" {
				return nil
			}
			return walk(e, depth+1)
		})
	}
	if err := walk(root, 0); err != nil {
		return "", err
	}
	return b.String(), r.End()
}

func read(in string) (string, geo.Notes, error) {
	r, err := markup.NewReader("x.xml", strings.NewReader(in), nil)
	if err != nil {
		return "", nil, err
	}
	s, err := outline(r)
	return s, r.Notes(), err
}

func readFile(in string) (format.File, error) {
	_, _, err := read(in)
	return format.File{}, err
}

func ExampleReader() {
	r, err := markup.NewReader("north.xml", strings.NewReader("<field>\n<name>North</name>\n<soil><deep/></soil></field>"), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	root, err := r.Root()
	fmt.Println(root.Name, root.Line, err)
	err = r.Each(func(e markup.Element) error {
		if e.Name != "name" {
			return nil // passed over
		}
		text, err := r.String()
		fmt.Println(e.Name, e.Line, text)
		return err
	})
	fmt.Println(err, r.End())
	// Output:
	// field 1 <nil>
	// name 2 North
	// <nil> <nil>
}

func TestWalk(t *testing.T) {
	in := "<?xml version='1.0'?>\n<!-- c -->\n<x:a xmlns:x='u'>\n <b><skip><t>no</t></skip><t>1<!-- c --><i>no</i>2<![CDATA[<3>]]>&amp;&#65;</t></b>\n\n <c/>\n<t>\n\n</t></x:a>\n<!-- end -->\n"
	s, notes, err := read(in)
	require.NoError(t, err)
	assert.Empty(t, notes)
	assert.Equal(t, "a:3\n b:4\n  t:4\n   \"12<3>&A\":4\n c:6\n t:7\n  \"\\n\\n\":7\n", s)

	r, err := markup.NewReader("x", strings.NewReader(`<a b=" 1 " x:c="2" d=""/>`), nil)
	require.NoError(t, err)
	e, err := r.Root()
	require.NoError(t, err)
	assert.Equal(t, "1", e.Attr("b"))
	_, ok := e.Get("c")
	assert.False(t, ok, "another namespace")
	_, ok = e.Get("d")
	assert.True(t, ok)
	assert.Empty(t, e.Attr("z"))
}

func TestRefusals(t *testing.T) {
	laughs := `<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]><l>&b;</l>`
	markuptest.Refusals(t, readFile, []markuptest.Refusal{
		{"empty", "", "x.xml", "the file is empty"},
		{"blank", " \r\n\t", "nothing but blanks"},
		{"no element", "<?xml version='1.0'?><!-- x -->", "no XML element"},
		{"text", "hello", `no XML: it begins with "hello"`},
		{"many laughs", laughs, "document type (<!DOCTYPE ...>)", "entities can grow"},
		{"outside entity", "<!DOCTYPE l SYSTEM \"file:///etc/hosts\"><l/>", "document type"},
		{"HTML", "<!DOCTYPE html><html></html>", "this is an HTML page", "needs a login"},
		{"unknown entity", "<a>\n&nbsp;</a>", "x.xml:2", "invalid character entity &nbsp;", "write & as &amp;"},
		{"loose ampersand", "<a>salt & water</a>", "invalid character entity", "write & as &amp;"},
		{"deep", strings.Repeat("<a>", 65), "nested more than 64 deep"},
		{"deep and passed over", "<r><skip>" + strings.Repeat("<a>", 65), "nested more than 64 deep"},
		{"cut in an element", "<a>\n<b>\n<c>\n", "the file ends inside <c>, which begins in line 3", "cut short"},
		{"cut in a tag", "<a>\n<b c='", "the file ends inside <a>, which begins in line 1"},
		{"cut in the first tag", "<a", "not sound XML: unexpected EOF"},
		{"wrong end", "<a>\n<b></a>", "x.xml:2", "element <b> closed by </a>"},
		{"two roots", "<a></a>\n<b/>", "x.xml:2", "<b> stands behind the end"},
		{"text behind", "<a></a>\n</b>", "not sound XML"},
		{"control character", "<a>\x00</a>", "illegal character code"},
		{"version", "<?xml version='1.1'?><a/>", "not sound XML: unsupported version"},
		{"encoding", "<?xml version='1.0' encoding='klingon-1'?><a/>", "x.xml:1", `"klingon-1", an encoding that is not known`, "UTF-8"},
		{"zip", "PK\x03\x04", "zip archive"},
		{"empty zip", "PK\x05\x06", "empty zip"},
		{"gzip", "\x1F\x8B\x08", "gzip"},
		{"GeoPackage", "SQLite format 3\x00", "GeoPackage", "ogr2ogr"},
		{"FlatGeobuf", "fgb\x03fgb\x00", "FlatGeobuf"},
		{"shapefile", "\x00\x00\x27\x0A", "shapefile"},
		{"PDF", "%PDF-1.7", "PDF"},
		{"pointer", "version https://git-lfs.x", "git lfs pull"},
		{"JSON", "\n{}", "JSON", ".geojson"},
	})
}

func TestOtherFormatsAreNamed(t *testing.T) {
	for root, want := range map[string]string{
		"kml": "this is a KML file, not a beet file", "GPX": "a GPX file", "ISO11783_TaskData": "an ISO 11783-10 task file",
		"XFC": "a part of an ISO 11783-10 task file", "html": "HTML page", "FeatureCollection": "GML", "svg": "drawing",
		"soil": `begins with the element "soil", not a beet file`,
	} {
		r, err := markup.NewReader("x.beet", strings.NewReader("<"+root+"/>"), nil)
		require.NoError(t, err)
		e, err := r.Root()
		require.NoError(t, err)
		assert.ErrorContains(t, r.Other(e, "a beet file"), want, root)
	}
}

// The same text in every encoding. Bytes of the eight-bit ones: ISO/IEC 8859-1
// and 8859-2 (1998, 1999), Windows-1250; from memory.
func TestEncodings(t *testing.T) {
	declare := func(name string) string { return "<?xml version='1.0' encoding='" + name + "'?>" }
	wide := func(e unicode.Endianness, mark unicode.BOMPolicy, s string) string {
		out, err := unicode.UTF16(e, mark).NewEncoder().String(s)
		require.NoError(t, err)
		return out
	}
	for _, c := range []struct {
		name, in, want string
		code           geo.Code
	}{
		{"plain", "<t>Žluťák 🌳</t>", "Žluťák 🌳", ""},
		{"declared UTF-8", declare("UTF-8") + "<t>Žluťák 🌳</t>", "Žluťák 🌳", ""},
		{"byte order mark", "\uFEFF" + declare("utf-8") + "<t>ü</t>", "ü", geo.NoteByteMark},
		{"UTF-16 little", wide(unicode.LittleEndian, unicode.UseBOM, declare("UTF-16")+"<t>Ž🌳</t>"), "Ž🌳", geo.NoteRecoded},
		{"UTF-16 big", wide(unicode.BigEndian, unicode.UseBOM, declare("UTF-16")+"<t>Ž🌳</t>"), "Ž🌳", geo.NoteRecoded},
		{"UTF-16 little, no mark", wide(unicode.LittleEndian, unicode.IgnoreBOM, "<t>Ž🌳</t>"), "Ž🌳", geo.NoteRecoded},
		{"UTF-16 big, no mark", wide(unicode.BigEndian, unicode.IgnoreBOM, "<t>Ž🌳</t>"), "Ž🌳", geo.NoteRecoded},
		{"only claims UTF-16", declare("UTF-16") + "<t>ü</t>", "ü", ""},
		{"Latin-1", declare("ISO-8859-1") + "<t>Gr\xFCn</t>", "Grün", geo.NoteRecoded},
		{"Latin-2", declare("iso-8859-2") + "<t>Vy\xB9\xB9\xED</t>", "Vyšší", geo.NoteRecoded},
		{"Windows-1250", declare("windows-1250") + "<t>\x8Aed\xE1</t>", "Šedá", geo.NoteRecoded},
		{"Latin-1 that claims UTF-8", declare("UTF-8") + "<t>Gr\xFCn am Weg</t>", "Grün am Weg", geo.NoteTextGuessed},
		{"Latin-1 at the end of text", "<t>Gr\xFC</t>", "Grü", geo.NoteTextGuessed},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, notes, err := read(c.in)
			require.NoError(t, err)
			assert.Contains(t, s, fmt.Sprintf("%q", c.want))
			if c.code == "" {
				assert.Empty(t, notes)
				return
			}
			require.Len(t, notes, 1)
			assert.Equal(t, c.code, notes[0].Code)
			assert.Equal(t, "x.xml", notes[0].Place)
		})
	}
}

// Wrong bytes at the edges of buffers, and text beyond them.
func TestMendingInLongText(t *testing.T) {
	for shift := range 5 {
		in := strings.Repeat("a", shift) + strings.Repeat("é🌳\xE9", 20000)
		s, notes, err := read("<t>" + in + "</t>")
		require.NoError(t, err)
		assert.Contains(t, s, strings.Repeat("a", shift)+strings.Repeat("é🌳é", 20000))
		require.Len(t, notes, 1)
		assert.InDelta(t, 20000, notes[0].Value, 0)
		assert.True(t, utf8.ValidString(s))
	}
}

func TestBudget(t *testing.T) {
	in := "<a>" + strings.Repeat("<b/>", 1000) + "</a>"
	for size, ok := range map[int64]bool{int64(len(in)): true, int64(len(in)) - 1: false, 100: false, 0: false} {
		left := size
		r, err := markup.NewReader("x.xml", strings.NewReader(in), &left)
		if err == nil {
			_, err = outline(r)
		}
		if ok {
			require.NoError(t, err)
			assert.Zero(t, left)
			continue
		}
		var e *geo.InputError
		require.ErrorAs(t, err, &e)
		assert.Contains(t, e.Problem, "more than 256 MiB")
	}
}

// endless is <a> and then blanks without end.
type endless struct{ begun bool }

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	if !e.begun {
		e.begun = true
		copy(p, "<a>")
	}
	return len(p), nil
}

func TestEndlessFileEnds(t *testing.T) {
	left := int64(4 << 20) // the whole budget takes seconds
	r, err := markup.NewReader("x.xml", &endless{}, &left)
	require.NoError(t, err)
	_, err = outline(r)
	var e *geo.InputError
	require.ErrorAs(t, err, &e)
	assert.Contains(t, e.Problem, "more than 256 MiB")
}

func TestReaderThatFails(t *testing.T) {
	in := "<a>" + strings.Repeat("<b/>", 1000)
	for _, n := range []int{0, 2, 1024, 3000} {
		r, err := markup.NewReader("x.xml", &markuptest.Failing{Text: in[:n]}, nil)
		if err == nil {
			_, err = outline(r)
		}
		require.ErrorIs(t, err, markuptest.ErrDisk, "%d", n)
		assert.Contains(t, err.Error(), "x.xml")
	}
	_, err := markup.NewReader("x.xml", markuptest.Silent{}, nil)
	require.ErrorIs(t, err, io.ErrNoProgress)
}

// FuzzReader: nothing panics, and every refusal says what is wrong.
func FuzzReader(f *testing.F) {
	for _, in := range []string{
		"", "<a/>", "<a>&#65;<t>x</t></a>", "\xFF\xFE<\x00a\x00/\x00>\x00", "<?xml version='1.0' encoding='ISO-8859-1'?><t>\xFC</t>",
		"<t>\xFC</t>", "<!DOCTYPE a><a/>", "<a><skip><b></skip></a>", "\uFEFF<a/>", "<a>\x00", "<a xmlns:b='c' b:d='e'/>", "<a/><b/>", "<t><![CDATA[",
	} {
		f.Add([]byte(in))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		s, notes, err := read(string(in))
		if err == nil {
			require.True(t, utf8.ValidString(s))
			require.LessOrEqual(t, len(notes), 2)
			return
		}
		var e *geo.InputError
		require.True(t, errors.As(err, &e), "%v", err)
		assert.NotEmpty(t, e.Problem)
	})
}
