package kml

import (
	"bufio"
	"bytes"
	"io"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// Kinds of note.
var (
	egm96 = markup.Kind{
		Code: geo.NoteHeightDatum, Severity: geo.Info, Unit: "vertices",
		One:  "vertex has a height above the geoid EGM96, near sea level",
		Many: "vertices have heights above the geoid EGM96, near sea level",
	}
	heightNone = markup.Kind{
		Code: geo.NoteHeightMissing, Severity: geo.Info, Unit: "vertices",
		One:  "vertex has a number for its height that is none of the ground, since its altitudeMode is not absolute: taken as not known",
		Many: "vertices have numbers for their heights that are none of the ground, since their altitudeMode is not absolute: taken as not known",
	}
	overlay = markup.Kind{
		Code: geo.NoteGeometryLeft, Severity: geo.Info, Unit: "shapes",
		One: "picture laid over the map was left out", Many: "pictures laid over the map were left out",
	}
	model = markup.Kind{
		Code: geo.NoteGeometryLeft, Severity: geo.Info, Unit: "shapes",
		One: "three-dimensional model was left out", Many: "three-dimensional models were left out",
	}
	link = markup.Kind{
		Code: geo.NoteGeometryLeft, Severity: geo.Caution, Unit: "links",
		One: "link to another file was not followed", Many: "links to other files were not followed",
		Hint: "if something is missing, open the file in a map viewer and save it as a file of its own",
	}
	bare = markup.Kind{
		Code: geo.NoteFeatureLeft, Severity: geo.Caution, Unit: "features",
		One: "placemark without geometry was left out", Many: "placemarks without geometry were left out",
		Hint: "draw its outline, or take it out of the file",
	}
	noCoord = markup.Kind{
		Code: geo.NoteNoFix, Severity: geo.Caution, Unit: "positions",
		One: "position of a track is empty and was dropped", Many: "positions of tracks are empty and were dropped",
	}
	blanks = markup.Kind{
		Code: geo.NoteTextNumber, Severity: geo.Caution, Unit: "shapes",
		One:  "list of coordinates has blanks within positions or commas between them; only one reading makes sense and was taken",
		Many: "lists of coordinates have blanks within positions or commas between them; only one reading makes sense and was taken",
		Hint: "look whether the shapes lie where they should",
	}
)

// Read reads a whole KML file, or a KMZ archive that is named like one. name is
// the file as the user named it. The first fault ends the reading.
func Read(name string, r io.Reader) (format.File, error) {
	in := bufio.NewReader(r)
	head, _ := in.Peek(4)
	if markup.IsZip(head) {
		all, err := markup.ReadArchive(name, in)
		if err != nil {
			return empty(name), err
		}
		return ReadArchive(name, bytes.NewReader(all), int64(len(all)))
	}
	return read(name, name, in)
}

// read reads the text of name, which messages call shown.
func read(name, shown string, in io.Reader) (format.File, error) {
	r, err := markup.NewReader(shown, in, nil)
	if err != nil {
		return empty(name), err
	}
	d := &document{Reader: r, out: empty(name)}
	if err := d.read(); err != nil {
		return empty(name), err
	}
	d.out.Notes = append(r.Notes(), d.tally.Notes(shown)...)
	return d.out, nil
}

func empty(name string) format.File {
	return format.File{
		Name: name, Format: "KML",
		Reference: format.Reference{WGS84: true, Declared: "WGS84, as every KML file"},
	}
}

// document reads one KML text.
type document struct {
	*markup.Reader
	out    format.File
	tally  markup.Tally
	number int // placemarks so far
	href   string
	links  int
}

func (d *document) read() error {
	root, err := d.Root()
	if err != nil {
		return err
	}
	switch root.Name {
	case "kml":
		err = d.Each(func(e markup.Element) error { return d.member(e, "") })
	case "Document", "Folder", "Placemark": // a part pasted into a file
		err = d.member(root, "")
	default:
		return d.Other(root, "a KML file")
	}
	if err == nil {
		err = d.End()
	}
	if err != nil {
		return err
	}
	return d.judge()
}

// judge refuses a file without features.
func (d *document) judge() error {
	if len(d.out.Features) > 0 {
		d.tally.Add(link, 0, d.links)
		return nil
	}
	e := &geo.InputError{File: d.out.Name, Problem: "the file holds no placemark", Hint: "draw the outline of the field as a polygon"}
	switch {
	case d.links > 0:
		e.Problem = "the file only links to another one"
		if d.href != "" {
			e.Problem += ", " + markup.Clip(d.href)
		}
		e.Hint = "open it in a map viewer and save the places as a file of their own"
	case d.number > 0:
		e.Problem = geo.Counted(d.number, "placemark") + ", and none has a geometry"
	}
	return e
}

// member reads one thing that a document or folder may hold.
func (d *document) member(e markup.Element, folder string) error {
	switch e.Name {
	case "Document", "Folder":
		return d.folder(e)
	case "Placemark":
		return d.placemark(e, folder)
	case "NetworkLink":
		return d.link()
	case "GroundOverlay", "ScreenOverlay", "PhotoOverlay":
		d.tally.Add(overlay, 0, 1)
	}
	return nil
}

// folder reads a Document or Folder. Things in a folder carry its name.
func (d *document) folder(e markup.Element) error {
	name := ""
	inside := e.Name == "Folder"
	return d.Each(func(e markup.Element) (err error) {
		if e.Name == "name" && inside {
			name, err = d.String()
			return err
		}
		return d.member(e, name)
	})
}

func (d *document) link() error {
	d.links++
	return d.Each(func(e markup.Element) error {
		if !strings.EqualFold(e.Name, "Link") && !strings.EqualFold(e.Name, "Url") {
			return nil
		}
		return d.Each(func(e markup.Element) error {
			if e.Name != "href" || d.href != "" {
				return nil
			}
			href, err := d.String()
			d.href = href
			return err
		})
	})
}
