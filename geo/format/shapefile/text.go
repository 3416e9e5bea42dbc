package shapefile

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"hemrow/geo"
	"hemrow/geo/format"
)

// maxSideBytes is how much of a .prj or .cpg is read: the longest system texts
// have some 5000.
const maxSideBytes = 64 << 10

// readSide reads a small companion file as text.
func readSide(b *bundle, name string) (string, error) {
	src, err := b.open(name)
	if err != nil {
		return "", err
	}
	defer src.close()
	n := min(src.size, maxSideBytes)
	raw, err := src.take(int(n))
	if err != nil {
		return "", err
	}
	text := strings.TrimPrefix(string(raw), "\uFEFF")
	if !utf8.ValidString(text) {
		text, _ = charmap.Windows1252.NewDecoder().String(text)
	}
	return strings.Trim(text, " \t\r\n\x00"), nil
}

// readReference is what the .prj says: its text, and the name at its start.
func readReference(b *bundle, prj string) (ref format.Reference, err error) {
	if prj == "" {
		return ref, nil
	}
	text, err := readSide(b, prj)
	if err != nil || text == "" {
		return ref, err
	}
	if e := sniff([]byte(text)); e != nil {
		e.File = b.label(prj)
		return ref, e
	}
	ref.WKT, ref.Declared = text, text
	if _, rest, ok := strings.Cut(text, `"`); ok {
		if name, _, ok := strings.Cut(rest, `"`); ok && name != "" {
			ref.Declared = name
		}
	}
	const most = 80
	if len(ref.Declared) > most {
		ref.Declared = strings.ToValidUTF8(ref.Declared[:most], "") + "..."
	}
	return ref, nil
}

// codePage is an encoding of the text of a .dbf. The zero codePage is unknown.
type codePage struct {
	utf8  bool
	table *charmap.Charmap
}

func (c codePage) known() bool { return c.utf8 || c.table != nil }

// read decodes s; ok tells whether all bytes have a meaning. UTF-8 may be cut
// short inside its last character, which is what happens where a field ends.
func (c codePage) read(s string) (text string, ok bool) {
	if c.utf8 {
		s = trimCutRune(s)
		return s, utf8.ValidString(s)
	}
	if c.table == nil {
		return "", false
	}
	var b strings.Builder
	ok = true
	for i := range len(s) {
		r := c.table.DecodeByte(s[i])
		ok = ok && r != utf8.RuneError
		b.WriteRune(r)
	}
	return b.String(), ok
}

// trimCutRune drops the beginning of a character at the end of s.
func trimCutRune(s string) string {
	for k := 1; k < utf8.UTFMax && k <= len(s); k++ {
		if c := s[len(s)-k]; utf8.RuneStart(c) {
			if c >= utf8.RuneSelf && !utf8.FullRuneInString(s[len(s)-k:]) {
				return s[:len(s)-k]
			}
			break
		}
	}
	return s
}

// pages are the encodings to try for the text of a .dbf.
type pages struct {
	declared codePage // by the .cpg
	byTable  codePage // by the language byte of the .dbf
}

// read is text in the first encoding that fits: that of the .cpg, UTF-8, that
// of the language byte, Windows-1252. guessed tells that no declaration fitted.
func (p *pages) read(s string) (text string, guessed bool) {
	if ascii(s) {
		return s, false
	}
	if text, ok := p.declared.read(s); ok {
		return text, false
	}
	if text, ok := (codePage{utf8: true}).read(s); ok {
		return text, p.declared.known()
	}
	if text, ok := p.byTable.read(s); ok {
		return text, p.declared.known()
	}
	text, _ = codePage{table: charmap.Windows1252}.read(s)
	return text, true
}

func ascii(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// readCodePage reads a .cpg, which names an encoding in one of many spellings.
// One that is not known here is as good as none.
func readCodePage(b *bundle, cpg string) (codePage, error) {
	if cpg == "" {
		return codePage{}, nil
	}
	text, err := readSide(b, cpg)
	if err != nil {
		return codePage{}, err
	}
	return pageNamed(text), nil
}

// pageNamed finds an encoding by its name: UTF-8, 1252, CP1252, ANSI 1252,
// ISO-8859-15, 885915, LATIN1, OEM 850, LDID/87 and the like (spellings from
// memory).
func pageNamed(name string) codePage {
	name, _, _ = strings.Cut(name, "\n")
	key := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z':
			return r - 'a' + 'A'
		case r >= '0' && r <= '9', r >= 'A' && r <= 'Z':
			return r
		}
		return -1
	}, name)
	if key == "UTF8" || key == "65001" || key == "CP65001" {
		return codePage{utf8: true}
	}
	if id, ok := strings.CutPrefix(key, "LDID"); ok {
		return pageOfLanguage(smallNumber(id))
	}
	for _, prefix := range []string{"WINDOWS", "ANSI", "OEM", "ISO", "IBM", "CP", "MS", "DOS"} {
		if rest, ok := strings.CutPrefix(key, prefix); ok && rest != "" && rest[0] >= '0' && rest[0] <= '9' {
			key = rest
			break
		}
	}
	return codePage{table: pageTables()[key]}
}

// smallNumber is a whole number up to 255, 0 for anything else.
func smallNumber(s string) byte {
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' || n > 25 {
			return 0
		}
		n = 10*n + int(s[i]-'0')
	}
	if n > 255 {
		return 0
	}
	return byte(n)
}

// pageTables are the encodings with one byte for each character. Latin-1 is
// read as Windows-1252, which has all of it and letters where Latin-1 has
// control characters (WHATWG Encoding Standard, section 4.2, does the same).
func pageTables() map[string]*charmap.Charmap {
	return map[string]*charmap.Charmap{
		"437": charmap.CodePage437, "850": charmap.CodePage850, "852": charmap.CodePage852,
		"855": charmap.CodePage855, "858": charmap.CodePage858, "860": charmap.CodePage860,
		"862": charmap.CodePage862, "863": charmap.CodePage863, "865": charmap.CodePage865,
		"866": charmap.CodePage866, "874": charmap.Windows874,
		"1250": charmap.Windows1250, "1251": charmap.Windows1251, "1252": charmap.Windows1252,
		"1253": charmap.Windows1253, "1254": charmap.Windows1254, "1255": charmap.Windows1255,
		"1256": charmap.Windows1256, "1257": charmap.Windows1257, "1258": charmap.Windows1258,
		"88591": charmap.Windows1252, "LATIN1": charmap.Windows1252,
		"88592": charmap.ISO8859_2, "LATIN2": charmap.ISO8859_2,
		"88593": charmap.ISO8859_3, "88594": charmap.ISO8859_4, "88595": charmap.ISO8859_5,
		"88596": charmap.ISO8859_6, "88597": charmap.ISO8859_7, "88598": charmap.ISO8859_8,
		"88599": charmap.ISO8859_9, "885910": charmap.ISO8859_10, "885913": charmap.ISO8859_13,
		"885914": charmap.ISO8859_14, "885915": charmap.ISO8859_15, "885916": charmap.ISO8859_16,
		"KOI8R": charmap.KOI8R, "KOI8U": charmap.KOI8U, "MACINTOSH": charmap.Macintosh,
	}
}

// pageOfLanguage is the encoding behind the language byte of a .dbf (from
// memory of the dBASE and FoxPro lists, compared with GDAL in a test).
func pageOfLanguage(id byte) codePage {
	key := ""
	switch id {
	case 0x01, 0x09, 0x0B, 0x0D, 0x0F, 0x11, 0x15, 0x18, 0x19, 0x1B:
		key = "437"
	case 0x02, 0x0A, 0x0E, 0x10, 0x12, 0x14, 0x16, 0x1A, 0x1D, 0x25, 0x37:
		key = "850"
	case 0x03, 0x57, 0x58, 0x59:
		key = "1252"
	case 0x04:
		key = "MACINTOSH"
	case 0x08, 0x17, 0x66:
		key = "865"
	case 0x1C, 0x6C:
		key = "863"
	case 0x1F, 0x22, 0x23, 0x40, 0x64, 0x87:
		key = "852"
	case 0x24:
		key = "860"
	case 0x26, 0x65:
		key = "866"
	case 0x50, 0x7C:
		key = "874"
	case 0xC8:
		key = "1250"
	case 0xC9:
		key = "1251"
	case 0xCA:
		key = "1254"
	case 0xCB:
		key = "1253"
	case 0xCC:
		key = "1257"
	}
	return codePage{table: pageTables()[key]}
}

// guessedNote says that text was read by guess.
func guessedNote(n int, place string) geo.Note {
	return geo.Note{
		Code: geo.NoteTextGuessed, Place: place, Value: float64(n), Unit: "texts",
		Text: plural(n, "text says not in which encoding it is, or wrongly, and was read by guess",
			"texts say not in which encoding they are, or wrongly, and were read by guess"),
		Hint: "if letters look wrong, put the name of the encoding into a .cpg file, UTF-8 or 1252 for instance",
	}
}
