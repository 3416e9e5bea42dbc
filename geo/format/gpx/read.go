package gpx

import (
	"fmt"
	"io"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// Kinds of note.
var (
	seaLevel = markup.Kind{
		Code: geo.NoteHeightDatum, Severity: geo.Info, Unit: "vertices",
		One:  "vertex has a height; GPX does not say above what, receivers write it above mean sea level",
		Many: "vertices have heights; GPX does not say above what, receivers write them above mean sea level",
	}
	noFix = markup.Kind{
		Code: geo.NoteNoFix, Severity: geo.Info, Unit: "positions",
		One:  "position at 0, 0 at the start of a log was dropped: the receiver did not know yet where it was",
		Many: "positions at 0, 0 at the start of a log were dropped: the receiver did not know yet where it was",
	}
	timeOrder = markup.Kind{
		Code: geo.NoteTimeOrder, Severity: geo.Caution, Unit: "positions",
		One:  "position of a track is older than the one before it",
		Many: "positions of tracks are older than those before them",
		Hint: "the log was sorted or joined by hand, or the receiver lost its clock; look whether the line runs as it was driven",
	}
	bare = markup.Kind{
		Code: geo.NoteFeatureLeft, Severity: geo.Caution, Unit: "features",
		One: "track or route without a position was left out", Many: "tracks or routes without a position were left out",
	}
)

// Read reads a whole file. name is the file as the user named it. The first
// fault ends the reading.
func Read(name string, r io.Reader) (format.File, error) {
	in, err := markup.NewReader(name, r, nil)
	if err != nil {
		return empty(name), err
	}
	l := &log{Reader: in, out: empty(name)}
	if err := l.read(); err != nil {
		return empty(name), err
	}
	l.out.Notes = append(in.Notes(), l.tally.Notes(name)...)
	return l.out, nil
}

func empty(name string) format.File {
	return format.File{
		Name: name, Format: format.GPX,
		Reference: format.Reference{WGS84: true, Declared: "WGS84, as every GPX file"},
	}
}

// log reads one GPX text.
type log struct {
	*markup.Reader
	out            format.File
	tally          markup.Tally
	features       int
	tracks, routes int
	marks          *format.Feature // the waypoints
	names          []any
}

func (l *log) read() error {
	root, err := l.Root()
	if err != nil {
		return err
	}
	if root.Name != "gpx" {
		return l.Other(root, "a GPX file")
	}
	if err := l.Each(l.member); err != nil {
		return err
	}
	if err := l.End(); err != nil {
		return err
	}
	return l.finish()
}

func (l *log) member(e markup.Element) error {
	switch e.Name {
	case "wpt":
		return l.waypoint(e)
	case "rte":
		l.routes++
		return l.route(e)
	case "trk":
		l.tracks++
		return l.track(e)
	}
	return nil
}

// finish puts the waypoints where they first stood, and refuses a file without
// features.
func (l *log) finish() error {
	if l.marks != nil {
		l.marks.Properties["names"] = l.names
		at := 0
		for at < len(l.out.Features) && l.out.Features[at].Number < l.marks.Number {
			at++
		}
		l.out.Features = append(l.out.Features, format.Feature{})
		copy(l.out.Features[at+1:], l.out.Features[at:])
		l.out.Features[at] = *l.marks
		l.heights(l.marks)
	}
	if len(l.out.Features) > 0 {
		return nil
	}
	e := &geo.InputError{
		File: l.out.Name, Problem: "the file holds no track, route or waypoint",
		Hint: "log the outline of the field as a track",
	}
	if l.features > 0 {
		e.Problem = fmt.Sprintf("the file has %s and %s, and none has a position with a fix", geo.Counted(l.tracks, "track"), geo.Counted(l.routes, "route"))
	}
	return e
}

func (l *log) heights(f *format.Feature) { l.tally.Heights(markup.Settle(f), f.Number, seaLevel) }

func (l *log) waypoint(e markup.Element) error {
	if l.marks == nil {
		l.features++
		l.marks = &format.Feature{
			Number: l.features, Line: e.Line, Name: "waypoints",
			Properties: map[string]any{"kind": "waypoints"},
		}
	}
	at := geo.InputError{Feature: l.marks.Number, Name: l.marks.Name, Vertex: len(l.marks.Points) + 1, Line: e.Line}
	c, name, _, err := l.position(e, at)
	if err != nil {
		return err
	}
	if c.X == 0 && c.Y == 0 {
		return l.nowhere(at)
	}
	l.marks.Points = append(l.marks.Points, c)
	l.names = append(l.names, name)
	return nil
}

func (l *log) nowhere(at geo.InputError) error {
	return l.Fault(at, "the position is 0, 0: the receiver did not know where it was", "take the position out, or survey it again")
}

// route reads a route as a feature of one line.
func (l *log) route(e markup.Element) error {
	p := l.course(e, "route", l.routes)
	var line []format.Coord
	err := l.Each(func(e markup.Element) error {
		if e.Name == "rtept" {
			return p.add(e, &line)
		}
		return p.label(e)
	})
	p.line(line)
	return p.end(err)
}

// track reads a track as a feature with a line for each segment.
func (l *log) track(e markup.Element) error {
	p := l.course(e, "track", l.tracks)
	return p.end(l.Each(func(e markup.Element) error {
		if e.Name != "trkseg" {
			return p.label(e)
		}
		p.at.Part++
		var line []format.Coord
		err := l.Each(func(e markup.Element) error {
			if e.Name == "trkpt" {
				return p.add(e, &line)
			}
			return nil
		})
		p.line(line)
		return err
	}))
}

func unnamed(kind string, number int) string { return fmt.Sprintf("%s %d", kind, number) }

// clean is a name on one line.
func clean(name string) string { return strings.Join(strings.Fields(name), " ") }
