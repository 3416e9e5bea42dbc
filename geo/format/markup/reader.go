package markup

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"hemrow/geo"
)

// Bounds of the input. An outline of a million corners takes some 40 MB as
// KML; the formats read here nest 10 deep, folders in folders a few more.
const (
	MaxBytes = 256 << 20
	MaxDepth = 64
)

// Element is a start tag. Namespaces are told apart by nobody: files carry old
// ones, wrong ones or none.
type Element struct {
	Name string // without prefix
	Line int    // where it starts, from 1
	attr []xml.Attr
}

// Get is the value of an attribute; ok is false if the element has none of
// that name. Prefixed attributes are left aside.
func (e Element) Get(name string) (value string, ok bool) {
	for i := range e.attr {
		if e.attr[i].Name.Local == name && e.attr[i].Name.Space == "" {
			return e.attr[i].Value, true
		}
	}
	return "", false
}

// Attr is the value of an attribute without blanks around it, "" if missing.
func (e Element) Attr(name string) string {
	v, _ := e.Get(name)
	return strings.TrimSpace(v)
}

// Reader reads one file.
type Reader struct {
	name  string
	in    *bounded
	mend  *mender
	dec   *xml.Decoder
	open  []Element // the elements around the place of reading
	line  int       // where the last token starts
	text  []byte
	notes geo.Notes
}

// NewReader looks at the beginning of a file and refuses what is no XML. name
// is the file as the user named it, for messages. budget is how many bytes may
// be read, counted down; nil stands for MaxBytes.
func NewReader(name string, in io.Reader, budget *int64) (*Reader, error) {
	if budget == nil {
		left := int64(MaxBytes)
		budget = &left
	}
	r := &Reader{name: name, in: &bounded{r: in, left: budget}}
	text, err := r.decode()
	if err != nil {
		return nil, err
	}
	r.dec = xml.NewDecoder(text)
	// decode has recoded the text by what the declaration says
	r.dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	return r, nil
}

// Root reads up to the first element.
func (r *Reader) Root() (Element, error) {
	for {
		t, err := r.token()
		if errors.Is(err, io.EOF) {
			return Element{}, r.Fault(geo.InputError{}, "the file holds no XML element", "")
		}
		if err != nil {
			return Element{}, err
		}
		if _, ok := t.(xml.StartElement); ok {
			return r.open[0], nil
		}
	}
}

// Each calls child for every element inside the one opened last, up to its
// end. What child leaves unread is passed over.
func (r *Reader) Each(child func(Element) error) error {
	level := len(r.open)
	for {
		t, err := r.token()
		if err != nil {
			return err
		}
		switch t.(type) {
		case xml.StartElement:
			if err := child(r.open[level]); err != nil {
				return err
			}
			if err := r.leave(level); err != nil {
				return err
			}
		case xml.EndElement:
			return nil
		}
	}
}

// Text is the text inside the element opened last, up to its end, without that
// of elements in it. It holds until the next call. line is where it starts.
func (r *Reader) Text() (text []byte, line int, err error) {
	level := len(r.open)
	r.text = r.text[:0]
	for {
		t, err := r.token()
		if err != nil {
			return nil, 0, err
		}
		switch t := t.(type) {
		case xml.CharData:
			if len(r.text) == 0 {
				line = r.line
			}
			r.text = append(r.text, t...)
		case xml.StartElement:
			if err := r.leave(level); err != nil {
				return nil, 0, err
			}
		case xml.EndElement:
			return r.text, line, nil
		}
	}
}

// String is Text without blanks around it, to keep.
func (r *Reader) String() (string, error) {
	b, _, err := r.Text()
	return strings.TrimSpace(string(b)), err
}

// End reads what stands behind the root. It refuses a second root.
func (r *Reader) End() error {
	for {
		t, err := r.token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if e, ok := t.(xml.StartElement); ok {
			return r.Fault(geo.InputError{}, fmt.Sprintf("<%s> stands behind the end of the document", e.Name.Local),
				"two files were joined, or an end tag stands too early")
		}
	}
}

// leave passes over everything until only level elements are open.
func (r *Reader) leave(level int) error {
	for len(r.open) > level {
		if _, err := r.token(); err != nil {
			return err
		}
	}
	return nil
}

// token reads on and keeps account of what is open.
func (r *Reader) token() (xml.Token, error) {
	r.line, _ = r.dec.InputPos()
	t, err := r.dec.Token()
	if err != nil {
		return nil, r.broken(err)
	}
	switch t := t.(type) {
	case xml.StartElement:
		if len(r.open) == MaxDepth {
			return nil, r.Fault(geo.InputError{}, fmt.Sprintf("elements are nested more than %d deep", MaxDepth), "")
		}
		r.open = append(r.open, Element{Name: t.Name.Local, Line: r.line, attr: t.Attr})
	case xml.EndElement:
		r.open = r.open[:len(r.open)-1]
	case xml.Directive:
		return nil, r.directive(string(t))
	}
	return t, nil
}

// directive refuses what begins with <!.
func (r *Reader) directive(text string) error {
	if words := strings.Fields(strings.ToLower(text)); len(words) > 1 && words[0] == "doctype" && words[1] == "html" {
		return r.Fault(geo.InputError{}, htmlPage, htmlHint)
	}
	return r.Fault(geo.InputError{}, "the file has a document type (<!DOCTYPE ...>), by which entities can grow without end",
		"none of the formats read here needs one; take it out, or export the file anew")
}

// Fault is an error at the place of reading: at says feature, part, hole and
// vertex, and another line if not 0.
func (r *Reader) Fault(at geo.InputError, problem, hint string) *geo.InputError {
	at.File, at.Problem, at.Hint = r.name, problem, hint
	if at.Line == 0 {
		at.Line = r.line
	}
	return &at
}

// Notes are those about the file as a whole. They are complete at its end.
func (r *Reader) Notes() geo.Notes {
	out := append(geo.Notes(nil), r.notes...)
	if r.mend != nil && r.mend.mended > 0 {
		out = append(out, geo.Note{
			Code: geo.NoteTextGuessed, Severity: geo.Caution, Place: r.name,
			Text:  geo.Counted(r.mend.mended, "byte") + " of text not in UTF-8, as the file should be: read as Windows-1252",
			Hint:  "look at the names with letters beyond A to Z",
			Value: float64(r.mend.mended), Unit: "bytes",
		})
	}
	return out
}

// broken says what the decoder met in words for the reader of the message.
func (r *Reader) broken(err error) error {
	switch {
	case r.in.over:
		return r.Fault(geo.InputError{}, fmt.Sprintf("there is more than %d MiB of text", MaxBytes>>20),
			"save only the field, its obstacles and lines")
	case r.in.err != nil && damaged(r.in.err):
		return r.Fault(geo.InputError{}, fmt.Sprintf("the archive is damaged here: %v", r.in.err), "fetch or pack it again")
	case r.in.err != nil:
		return fmt.Errorf("%s: %w", r.name, r.in.err)
	case errors.Is(err, io.EOF):
		return io.EOF
	}
	var s *xml.SyntaxError
	if !errors.As(err, &s) {
		return r.Fault(geo.InputError{}, "not sound XML: "+strings.TrimPrefix(err.Error(), "xml: "), "")
	}
	r.line = s.Line
	switch {
	case s.Msg == "unexpected EOF" && len(r.open) > 0:
		last := r.open[len(r.open)-1]
		return r.Fault(geo.InputError{}, fmt.Sprintf("the file ends inside <%s>, which begins in line %d", last.Name, last.Line),
			"it was cut short; fetch or export it again")
	case strings.HasPrefix(s.Msg, "invalid character entity"):
		return r.Fault(geo.InputError{}, "not sound XML: "+s.Msg, "only &amp; &lt; &gt; &quot; &apos; and numbers stand for characters; write & as &amp;")
	}
	return r.Fault(geo.InputError{}, "not sound XML: "+s.Msg, "")
}
