package shapefile

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// FieldType is the type of a field of the table.
type FieldType byte

// The four types that every reader knows.
const (
	TextField   FieldType = 'C'
	NumberField FieldType = 'N'
	FlagField   FieldType = 'L'
	DateField   FieldType = 'D'
)

// Field is one field of the table.
type Field struct {
	// Name is cut to ten bytes and made different from those before it.
	Name string
	Type FieldType
	// Width is in bytes: up to 254 for text, up to 18 for numbers, without
	// meaning for the others. Longer text is cut at a character.
	Width    int
	Decimals int // of numbers
}

const (
	nameBytes     = 10
	widestText    = 254
	widestNumber  = 18
	mostFields    = 128  // dBASE III (from memory)
	mostRowBytes  = 4000 // likewise
	endOfFileMark = 0x1A
)

// width is the room of the field in a row, 0 if there can be none.
func (f Field) width() int {
	switch {
	case f.Type == TextField && f.Width >= 1 && f.Width <= widestText && f.Decimals == 0:
		return f.Width
	case f.Type == NumberField && f.Width >= 1 && f.Width <= widestNumber &&
		(f.Decimals == 0 || f.Decimals > 0 && f.Decimals <= f.Width-2):
		return f.Width
	case f.Type == FlagField:
		return 1
	case f.Type == DateField:
		return 8
	}
	return 0
}

// table writes the .dbf.
func (l *Layer) table() ([]byte, error) {
	fields := l.Fields
	if len(fields) == 0 { // a table without fields is not understood everywhere
		fields = []Field{{Name: "NUMBER", Type: NumberField, Width: 9}}
	}
	row := 1
	for _, f := range fields {
		w := f.width()
		if w == 0 {
			return nil, fmt.Errorf("%s: field %q: type %q with width %d and %d decimals cannot be written", l.Name, f.Name, f.Type, f.Width, f.Decimals)
		}
		row += w
	}
	if len(fields) > mostFields || row > mostRowBytes {
		return nil, fmt.Errorf("%s: %d fields of %d bytes together; at most %d of %d can be written", l.Name, len(fields), row, mostFields, mostRowBytes)
	}
	year := l.Date.Year() - 1900
	if year < 0 || year > 255 {
		return nil, fmt.Errorf("%s: the date of the table is %s; it must be between 1900 and 2155", l.Name, l.Date.Format(time.DateOnly))
	}
	begin := tableHead + fieldBytes*len(fields) + 1
	b := make([]byte, tableHead, begin+row*len(l.Records)+1)
	b[0], b[1], b[2], b[3] = 3, byte(year), byte(l.Date.Month()), byte(l.Date.Day())
	binary.LittleEndian.PutUint32(b[4:], uint32(len(l.Records)))
	binary.LittleEndian.PutUint16(b[8:], uint16(begin))
	binary.LittleEndian.PutUint16(b[10:], uint16(row))
	b = appendFields(b, fields)
	for i := range l.Records {
		var err error
		if b, err = l.appendRow(b, fields, i); err != nil {
			return nil, fmt.Errorf("%s: record %d: %w", l.Name, i+1, err)
		}
	}
	return append(b, endOfFileMark), nil
}

func appendFields(b []byte, fields []Field) []byte {
	used := map[string]bool{}
	for _, f := range fields {
		var d [fieldBytes]byte
		copy(d[:nameBytes], fieldName(f.Name, used))
		d[11], d[16], d[17] = byte(f.Type), byte(f.width()), byte(f.Decimals)
		b = append(b, d[:]...)
	}
	return append(b, fieldsEnd)
}

// fieldName is at most ten bytes, and no other field's but for capitals.
func fieldName(s string, used map[string]bool) string {
	s = strings.Map(func(r rune) rune {
		if r <= ' ' || r == 0x7F {
			return '_'
		}
		return r
	}, strings.ToValidUTF8(s, "_"))
	if s == "" {
		s = "FIELD"
	}
	name := cut(s, nameBytes)
	for k := 1; used[strings.ToUpper(name)]; k++ {
		tail := fmt.Sprintf("_%d", k)
		name = cut(s, nameBytes-len(tail)) + tail
	}
	used[strings.ToUpper(name)] = true
	return name
}

// cut is s in at most n bytes, whole characters only.
func cut(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n]
}

func (l *Layer) appendRow(b []byte, fields []Field, i int) ([]byte, error) {
	values := l.Records[i].Values
	if len(l.Fields) == 0 && len(values) == 0 {
		values = []any{i + 1}
	}
	if len(values) != len(fields) {
		return nil, fmt.Errorf("%d values for %d fields", len(values), len(fields))
	}
	b = append(b, ' ')
	for k, f := range fields {
		s, err := f.text(values[k])
		if err != nil {
			return nil, fmt.Errorf("field %q: %w", f.Name, err)
		}
		pad := strings.Repeat(" ", f.width()-len(s))
		if f.Type == NumberField {
			b = append(append(b, pad...), s...)
		} else {
			b = append(append(b, s...), pad...)
		}
	}
	return b, nil
}

// text is a value as the field writes it.
func (f Field) text(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return "", nil
	case string:
		if f.Type == TextField {
			v = strings.ReplaceAll(strings.ToValidUTF8(v, "\uFFFD"), "\x00", " ")
			return cut(v, f.Width), nil
		}
	case bool:
		if f.Type == FlagField {
			return map[bool]string{true: "T", false: "F"}[v], nil
		}
	case time.Time:
		if s := v.Format("20060102"); f.Type == DateField && len(s) == 8 {
			return s, nil
		}
	case int:
		return f.number(float64(v), strconv.Itoa(v))
	case int64:
		return f.number(float64(v), strconv.FormatInt(v, 10))
	case json.Number:
		if x, err := v.Float64(); err == nil {
			return f.number(x, string(v))
		}
	case float64:
		return f.number(v, "")
	}
	return "", fmt.Errorf("%T %v cannot be written in a field of type %q", v, v, f.Type)
}

// number is v with the decimals of the field; whole is its text if it is a
// whole number, which may have more digits than a float64 holds.
func (f Field) number(v float64, whole string) (string, error) { //unit:the field's
	if f.Type != NumberField || math.IsNaN(v) || math.IsInf(v, 0) {
		return "", fmt.Errorf("%v cannot be written in a field of type %q", v, f.Type)
	}
	s := strconv.FormatFloat(v, 'f', f.Decimals, 64)
	if f.Decimals == 0 && strings.Trim(whole, "-0123456789") == "" && whole != "" {
		s = whole
	}
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-") // no -0
	}
	if len(s) > f.Width {
		return "", fmt.Errorf("%s needs %d characters, the field has %d", s, len(s), f.Width)
	}
	return s, nil
}

// Pack writes files into a zip archive, all with the same date. The same files
// give the same bytes.
func Pack(w io.Writer, files []Member, date time.Time) error {
	z := zip.NewWriter(w)
	for _, f := range files {
		out, err := z.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Deflate, Modified: date.UTC()})
		if err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
		if _, err := io.Copy(out, bytes.NewReader(f.Data)); err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
	}
	return z.Close()
}
