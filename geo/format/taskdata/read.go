package taskdata

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// Kinds of note.
var (
	ellipsoid = markup.Kind{
		Code: geo.NoteHeightDatum, Severity: geo.Info, Unit: "vertices",
		One:  "vertex has a height above the WGS84 ellipsoid, up to 100 m from one above sea level",
		Many: "vertices have heights above the WGS84 ellipsoid, up to 100 m from those above sea level",
	}
	noBoundary = markup.Kind{
		Code: geo.NoteFeatureLeft, Severity: geo.Caution, Unit: "features",
		One: "field without a boundary was left out", Many: "fields without a boundary were left out",
		Hint: "drive or draw the boundary at the terminal, and export again",
	}
	noOuter = markup.Kind{
		Code: geo.NoteGeometryLeft, Severity: geo.Caution, Unit: "shapes",
		One: "hole without an outer ring was left out", Many: "holes without an outer ring were left out",
	}
	limit = markup.Kind{
		Code: geo.NoteGeometryLeft, Severity: geo.Info, Unit: "shapes",
		One: "area that limits guidance lines was left out", Many: "areas that limit guidance lines were left out",
	}
	binary = markup.Kind{
		Code: geo.NoteGeometryLeft, Severity: geo.Caution, Unit: "shapes",
		One:  "shape whose points are kept in a binary file was left out",
		Many: "shapes whose points are kept in binary files were left out",
		Hint: "export them with their points in the XML",
	}
)

// Read reads TASKDATA.XML alone, or a zip archive of a file set. name is the
// file as the user named it. Fields kept in files beside TASKDATA.XML are out of
// reach: see [ReadFS]. The first fault ends the reading.
func Read(name string, r io.Reader) (format.File, error) {
	in := bufio.NewReader(r)
	if head, _ := in.Peek(4); markup.IsZip(head) {
		return readArchive(name, in)
	}
	return readSet(name, name, in, nil)
}

// open opens an external file of the set by its name without extension. It
// returns errNoFile if there is none.
type open func(t *task, name string) (in io.ReadCloser, shown string, err error)

var errNoFile = errors.New("no such file")

// readSet reads a file set whose main file is in, called shown in messages.
func readSet(name, shown string, in io.Reader, external open) (format.File, error) {
	left := int64(markup.MaxBytes)
	t := &task{out: empty(name), left: &left, owners: map[string]string{}}
	if err := t.file(shown, in, "ISO11783_TaskData"); err != nil {
		return empty(name), err
	}
	if err := t.externals(shown, external); err != nil {
		return empty(name), err
	}
	if err := t.judge(shown); err != nil {
		return empty(name), err
	}
	t.resolve()
	t.out.Notes = append(t.out.Notes, t.tally.Notes(name)...)
	return t.out, nil
}

func empty(name string) format.File {
	return format.File{
		Name: name, Format: format.TaskData,
		Reference: format.Reference{WGS84: true, Declared: "WGS84, as every ISO 11783-10 file"},
	}
}

// task reads one file set.
type task struct {
	*markup.Reader // of the file being read
	out            format.File
	tally          markup.Tally
	left           *int64 // bytes that may still be read
	number         int    // features so far
	fields         int
	owners         map[string]string // names of customers and farms by ID
	refs           []ref
	files          []string // external files
	absent         []string // those that could not be read
}

// ref is a feature that names its customer or farm by ID.
type ref struct {
	feature int // index
	key, id string
}

// file reads one file of the set.
func (t *task) file(shown string, in io.Reader, want string) error {
	r, err := markup.NewReader(shown, in, t.left)
	if err != nil {
		return err
	}
	t.Reader = r
	root, err := r.Root()
	if err != nil {
		return err
	}
	if root.Name != want {
		return r.Other(root, "an ISO 11783-10 task file")
	}
	if err := r.Each(t.member); err != nil {
		return err
	}
	if err := r.End(); err != nil {
		return err
	}
	t.out.Notes = append(t.out.Notes, r.Notes()...)
	return nil
}

// member reads one coding element of the set.
func (t *task) member(e markup.Element) error {
	switch e.Name {
	case "CTR":
		t.owners[e.Attr("A")] = strings.TrimSpace(e.Attr("C") + " " + e.Attr("B"))
	case "FRM":
		t.owners[e.Attr("A")] = e.Attr("B")
	case "PFD":
		return t.field(e)
	case "XFR":
		t.files = append(t.files, e.Attr("A"))
	}
	return nil
}

// externals reads the external files with fields, customers and farms.
func (t *task) externals(shown string, external open) error {
	seen := map[string]bool{}
	files := t.files
	t.files = nil
	for _, name := range files {
		kind := name[:min(3, len(name))]
		if seen[name] || kind != "PFD" && kind != "CTR" && kind != "FRM" {
			continue
		}
		seen[name] = true
		if strings.Trim(name, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") != "" {
			return &geo.InputError{File: shown, Problem: fmt.Sprintf("%s is no name of an external file", markup.Clip(name)), Hint: "it has three letters and five digits, such as PFD00001"}
		}
		if external == nil {
			t.absent = append(t.absent, name+".XML")
			continue
		}
		in, part, err := external(t, name)
		if errors.Is(err, errNoFile) {
			t.absent = append(t.absent, name+".XML")
			continue
		}
		if err != nil {
			return err
		}
		err = t.file(part, in, "XFC")
		in.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// judge refuses a set without features, and notes files that are missing.
func (t *task) judge(shown string) error {
	absent := strings.Join(t.absent[:min(len(t.absent), 10)], ", ")
	if len(t.out.Features) > 0 {
		if absent != "" {
			t.out.Notes = append(t.out.Notes, geo.Note{
				Code: geo.NoteCompanion, Severity: geo.Caution, Place: shown,
				Text: "files of the set were not read: " + absent,
				Hint: "give the whole folder, or the archive of it", Value: float64(len(t.absent)), Unit: "files",
			})
		}
		return nil
	}
	e := &geo.InputError{File: shown, Problem: "the file holds no field", Hint: "export the fields with their boundaries"}
	switch {
	case absent != "":
		e.Problem = "the fields are kept in files beside it, which were not read: " + absent
		e.Hint = "give the whole folder, or the archive of it"
	case t.fields > 0:
		e.Problem = fmt.Sprintf("%s, and none has a boundary", geo.Counted(t.fields, "field"))
	}
	return e
}

// resolve replaces the IDs of customers and farms by their names.
func (t *task) resolve() {
	for _, r := range t.refs {
		if name := t.owners[r.id]; name != "" {
			t.out.Features[r.feature].Properties[r.key] = name
		}
	}
}
