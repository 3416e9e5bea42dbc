package geojson

import (
	"bytes"
	"fmt"
	"io"

	"hemrow/geo"
)

// maxFeatureBytes is how long one feature may be. A drive log of 100 000
// vertices takes about 4 MB; the rest is room.
const maxFeatureBytes = 64 << 20

// Where a cutter stands.
const (
	betweenValues = iota
	insideFeatures
	behindFeatures
)

// cutter walks over the values of one source and cuts out features. It looks
// at the members of the outermost object and at brackets, and leaves the
// inside of features to [Stream.Decode].
type cutter struct {
	s     *Stream
	src   *source
	state int
	more  bool // a feature of this list was cut already

	head    header
	began   int  // line where the value began
	values  int  // how many ended
	oneLine bool // the first value stood on one line
	number  int  // of the feature being cut, 0 when between features
}

// header is what the outermost object says beside its features.
type header struct {
	kind     string // its type
	features bool
	crs      bool
	esri     esriFlags
}

// errLines says that the first value filled one line and another line follows.
var errLines = fmt.Errorf("one value on each line")

// next cuts the next feature; io.EOF at the end.
func (c *cutter) next() (Raw, error) {
	for {
		c.number = 0
		switch c.state {
		case insideFeatures:
			raw, ok, err := c.feature()
			if ok || err != nil {
				return raw, err
			}
			c.state = behindFeatures
		case behindFeatures:
			if raw, ok, err := c.object(); ok || err != nil {
				return raw, err
			}
		default:
			if err := c.begin(); err != nil {
				return Raw{}, err
			}
			if raw, ok, err := c.object(); ok || err != nil {
				return raw, err
			}
		}
	}
}

// begin opens the next outermost object.
func (c *cutter) begin() error {
	src := c.src
	line, _ := src.place(src.pos)
	ch := src.peek()
	for ch == recordMark {
		src.pos++
		ch = src.peek()
	}
	if ch == 0 && src.ended() {
		if src.err != nil {
			return fmt.Errorf("%s: %w", c.s.name, src.err)
		}
		return io.EOF
	}
	src.countTo(src.pos)
	if now, _ := src.place(src.pos); c.values == 1 && c.oneLine && now > line {
		return errLines
	}
	switch ch {
	case '{':
	case '[':
		return c.fail(src.pos, "the file begins with a list; GeoJSON begins with an object",
			`put the features into {"type": "FeatureCollection", "features": [...]}`)
	default:
		return c.wrong(src.pos)
	}
	c.head = header{}
	c.began, _ = src.place(src.pos)
	src.pin = src.pos
	src.pos++
	c.more = false
	return nil
}

// object reads on in the members of the outermost object: up to the list of
// features, when it has one, or to its end, when it is a feature itself.
func (c *cutter) object() (raw Raw, ok bool, err error) {
	first := c.state == betweenValues
	for {
		ch := c.src.peek()
		if ch == '}' {
			return c.end()
		}
		if !first {
			if ch != ',' {
				return Raw{}, false, c.wrong(c.src.pos)
			}
			c.src.pos++
			if ch = c.src.peek(); ch == '}' {
				return Raw{}, false, c.fail(c.src.pos, "there is a comma before }", "")
			}
		}
		first = false
		list, err := c.member(ch)
		if list || err != nil {
			return Raw{}, false, err
		}
	}
}

// member reads one member of the outermost object. list is true when it is the
// list of features, whose bracket is then open.
func (c *cutter) member(ch byte) (list bool, err error) {
	if ch != '"' {
		return false, c.wrong(c.src.pos)
	}
	// keys, crs and type are needed in one piece
	pinned := c.src.pin
	if pinned < 0 {
		c.src.pin = c.src.pos
	}
	defer func() {
		if pinned < 0 {
			c.src.pin = -1
		}
	}()
	key, err := c.text()
	if err != nil {
		return false, err
	}
	if c.src.peek() != ':' {
		return false, c.wrong(c.src.pos)
	}
	c.src.pos++
	ch = c.src.peek()
	if key == "features" && ch == '[' && (c.head.kind == "" || c.head.kind == "FeatureCollection") {
		if c.head.features {
			return false, c.fail(c.src.pos, `member "features" stands twice`, "")
		}
		c.src.pos++
		c.src.pin, pinned = -1, -1
		c.head.features, c.state, c.more = true, insideFeatures, false
		return true, nil
	}
	return false, c.headMember(key)
}

// headMember reads a member's value and keeps what matters of it.
func (c *cutter) headMember(key string) error {
	start := c.src.pos - c.src.pin
	if err := c.value(); err != nil {
		return err
	}
	start += c.src.pin
	value := c.src.buf[start:c.src.pos]
	switch key {
	case "geometry", "coordinates", "geometries", "properties", "rings", "paths", "attributes":
		return nil // long, and read strictly later
	}
	if _, f := skipValue(value, 0, 0); f != nil {
		return c.fault(start, f)
	}
	switch key {
	case "type":
		if c.head.kind != "" {
			return c.fail(start, `member "type" stands twice`, "")
		}
		if value[0] != '"' {
			return c.fail(start, `member "type" is not text`, "")
		}
		c.head.kind, _, _ = readText(value, 0)
		if c.head.kind == "Topology" {
			return c.fail(start, "this is TopoJSON, which hemrow does not read",
				"convert it first: ogr2ogr -t_srs EPSG:4326 out.geojson in.topojson")
		}
	case "crs":
		if c.head.crs {
			return c.fail(start, `member "crs" stands twice`, "")
		}
		c.head.crs = true
		return c.readCRS(start, value)
	default:
		if f := c.head.esri.read(key, value); f != nil {
			return c.fault(start, f)
		}
		if code := epsgCode(c.head.esri.system); code != 0 && !c.head.esri.wgs84 && c.takes(code) {
			c.s.declare(c.head.esri.system)
		}
	}
	return nil
}

// readCRS takes in the crs member of a collection. That of a lone feature or
// geometry is read again with the feature, which then leaves the note.
func (c *cutter) readCRS(start int, value []byte) error {
	declared, f := readCRS(value, c.takes)
	if declared != "" {
		c.s.declare(declared)
	}
	if f != nil {
		return c.fault(start, f)
	}
	return nil
}

// takes reports whether another system than WGS84 can be that of the whole
// input: it must be said by its only value, before any feature.
func (c *cutter) takes(int) bool { return c == c.s.doc && c.values == 0 && c.s.number == 0 }

// end closes the outermost object. ok is true when it is itself a feature.
func (c *cutter) end() (raw Raw, ok bool, err error) {
	c.src.pos++
	if c.values++; c.values == 1 {
		line, _ := c.src.place(c.src.pos)
		c.oneLine = line == c.began
	}
	c.state = betweenValues
	if !c.head.features {
		if c.head.kind == "FeatureCollection" {
			return Raw{}, false, c.fail(c.src.pos-1, `FeatureCollection without its list "features"`, "")
		}
		c.number = c.s.count()
		return c.cut(), true, nil
	}
	if c.head.crs {
		c.s.oldCRS()
	}
	return Raw{}, false, nil
}

// feature cuts the next element of the list of features; ok is false when the
// list is closed.
func (c *cutter) feature() (raw Raw, ok bool, err error) {
	ch := c.src.peek()
	if ch == ']' {
		c.src.pos++
		return Raw{}, false, nil
	}
	if c.more {
		if ch != ',' {
			return Raw{}, false, c.wrong(c.src.pos)
		}
		c.src.pos++
		if ch = c.src.peek(); ch == ']' {
			return Raw{}, false, c.fail(c.src.pos, "there is a comma before ]", "")
		}
	}
	c.more = true
	if ch == 0 {
		return Raw{}, false, c.wrong(c.src.pos)
	}
	c.number = c.s.count()
	c.src.countTo(c.src.pos)
	c.src.pin = c.src.pos
	if ch != '{' {
		return Raw{}, false, c.notFeature()
	}
	if err := c.value(); err != nil {
		return Raw{}, false, err
	}
	return c.cut(), true, nil
}

func (c *cutter) notFeature() error {
	if bytes.IndexByte([]byte(`["-0123456789tfn`), c.src.buf[c.src.pos]) < 0 {
		return c.wrong(c.src.pos)
	}
	at := c.src.pos
	return c.fail(at, fmt.Sprintf("the list of features holds %s, which is no feature", kindOf(c.src.buf[at])), "")
}

// cut is the pinned bytes as a raw feature.
func (c *cutter) cut() Raw {
	src := c.src
	line, col := src.place(src.pin)
	raw := Raw{
		Number: c.number, Line: line, Bytes: src.buf[src.pin:src.pos:src.pos],
		col: col, esri: c.head.esri,
	}
	src.pin = -1
	return raw
}

// value moves behind the value that begins at the next byte.
func (c *cutter) value() error {
	switch c.src.peek() {
	case '{', '[':
		return c.nested()
	case '"':
		_, err := c.text()
		return err
	}
	// a number or a word: up to what may follow it
	for {
		if c.src.ended() {
			return c.wrong(c.src.pos)
		}
		if delimits(c.src.buf, c.src.pos) {
			return nil
		}
		c.src.pos++
		if err := c.room(); err != nil {
			return err
		}
	}
}

func (c *cutter) nested() error {
	var n nest
	for {
		used, done, problem := n.scan(c.src.buf[c.src.pos:])
		c.src.pos += used
		if problem != "" {
			return c.fail(c.src.pos, problem, "")
		}
		if err := c.room(); err != nil {
			return err
		}
		if done {
			return nil
		}
		if c.src.ended() {
			return c.wrong(c.src.pos)
		}
	}
}

// text reads the text at the next byte. It lies inside what is pinned.
func (c *cutter) text() (string, error) {
	start := c.src.pos - c.src.pin
	c.src.pos++
	n := nest{inText: true}
	for n.inText {
		if c.src.ended() {
			return "", c.wrong(c.src.pos)
		}
		c.src.pos = n.text(c.src.buf, c.src.pos)
		if err := c.room(); err != nil {
			return "", err
		}
	}
	start += c.src.pin
	s, _, f := readText(c.src.buf[start:c.src.pos], 0)
	if f != nil {
		return "", c.fault(start, f)
	}
	return s, nil
}

// room refuses a feature that is too long.
func (c *cutter) room() error {
	if c.src.held() <= c.s.limit {
		return nil
	}
	return c.fail(c.src.pin, fmt.Sprintf("one feature is longer than %d MiB", c.s.limit>>20),
		"thin its vertices, or give each field a feature of its own")
}

// wrong is the error for the byte at i, or for the end of the input there.
func (c *cutter) wrong(i int) error {
	if i < len(c.src.buf) {
		return c.fail(i, unexpected(c.src.buf, i), "")
	}
	if c.src.err != nil {
		return fmt.Errorf("%s: %w", c.s.name, c.src.err)
	}
	line, _ := c.src.place(i)
	e := &geo.InputError{
		File: c.s.name, Line: line, Feature: c.number,
		Problem: fmt.Sprintf("file ends at byte %d", c.src.base+int64(i)),
		Hint:    "the file was cut short; fetch or copy it again",
	}
	if c.src.r == nil { // one line or one record
		e.Problem = fmt.Sprintf("record ends at byte %d", c.src.base+int64(i))
	}
	if e.Feature == 0 && c.state == betweenValues {
		e.Feature = c.s.number + 1
	}
	if e.Feature > 0 {
		e.Problem += fmt.Sprintf(" inside feature %d", e.Feature)
	} else {
		e.Problem += fmt.Sprintf(" after feature %d, before its collection closes", c.s.number)
	}
	return e
}

func (c *cutter) fault(start int, f *fault) error {
	return c.fail(start+f.at, f.problem, f.hint)
}

// fail is an error at buf[i], with its column.
func (c *cutter) fail(i int, problem, hint string) error {
	line, col := c.src.place(i)
	return &geo.InputError{
		File: c.s.name, Line: line, Feature: c.number,
		Problem: fmt.Sprintf("column %d: %s", col, problem), Hint: hint,
	}
}

// kindOf names the kind of JSON value that begins with c.
func kindOf(c byte) string {
	switch {
	case c == '"':
		return "text"
	case c == '[':
		return "a list"
	case c == '{':
		return "an object"
	case c == 'n':
		return "null"
	case c == 't' || c == 'f':
		return "true or false"
	}
	return "a number"
}
