package gpx

import (
	"math"
	"time"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// course is a track or route while it is read.
type course struct {
	*log
	f     format.Feature
	at    geo.InputError // the place in it
	last  time.Time      // of the position before
	begun bool           // a position with a fix was read in this line
}

func (l *log) course(e markup.Element, kind string, number int) *course {
	l.features++
	c := &course{log: l, f: format.Feature{
		Number: l.features, Line: e.Line, Name: unnamed(kind, number),
		Properties: map[string]any{"kind": kind, "number": number},
	}}
	c.at = geo.InputError{Feature: l.features, Name: c.f.Name}
	return c
}

// label reads what describes a track or route as a whole.
func (c *course) label(e markup.Element) error {
	switch e.Name {
	case "name", "type":
		text, err := c.String()
		if text = clean(text); text == "" || err != nil {
			return err
		}
		if e.Name == "type" {
			c.f.Properties["type"] = text
			return nil
		}
		c.f.Name, c.at.Name = text, text
	}
	return nil
}

// add reads a position of a line.
func (c *course) add(e markup.Element, line *[]format.Coord) error {
	c.at.Vertex++
	at := c.at
	at.Line = e.Line
	pos, _, when, err := c.position(e, at)
	if err != nil {
		return err
	}
	if pos.X == 0 && pos.Y == 0 {
		if c.begun {
			return c.nowhere(at)
		}
		c.tally.Add(noFix, c.f.Number, 1)
		return nil
	}
	c.begun = true
	if !when.IsZero() {
		if when.Before(c.last) {
			c.tally.Add(timeOrder, c.f.Number, 1)
		}
		c.last = when
	}
	*line = append(*line, pos)
	return nil
}

// line ends a segment.
func (c *course) line(line []format.Coord) {
	c.at.Vertex, c.begun = 0, false
	if len(line) > 0 {
		c.f.Lines = append(c.f.Lines, line)
	} else if c.at.Part > 0 {
		c.tally.Add(markup.ShapeEmpty, c.f.Number, 1)
	}
}

func (c *course) end(err error) error {
	if err != nil {
		return err
	}
	if len(c.f.Lines) == 0 {
		c.tally.Add(bare, c.f.Number, 1)
		return nil
	}
	c.heights(&c.f)
	c.out.Features = append(c.out.Features, c.f)
	return nil
}

// position reads a wpt, rtept or trkpt.
func (l *log) position(e markup.Element, at geo.InputError) (c format.Coord, name string, when time.Time, err error) {
	c.Z = math.NaN()
	for i, v := range [...]*float64{&c.X, &c.Y} {
		text, ok := e.Get([...]string{"lon", "lat"}[i])
		what := [...]string{"longitude", "latitude"}[i]
		if !ok {
			return c, "", when, l.Fault(at, "the position has no "+what, "")
		}
		problem := ""
		if *v, problem = markup.Number(text, what); problem != "" {
			return c, "", when, l.Fault(at, problem, "")
		}
	}
	err = l.Each(func(e markup.Element) error {
		switch e.Name {
		case "ele":
			at.Line = e.Line
			z, err := l.height(at)
			c.Z = z
			return err
		case "name":
			text, err := l.String()
			name = clean(text)
			return err
		case "time":
			text, err := l.String()
			when = moment(text)
			return err
		}
		return nil
	})
	return c, name, when, err
}

// height reads an ele element; NaN where it says that there is none.
func (l *log) height(at geo.InputError) (zM float64, err error) {
	text, err := l.String()
	if err != nil {
		return 0, err
	}
	switch text {
	case "", "NaN", "nan", "NAN":
		return math.NaN(), nil
	}
	z, problem := markup.Number(text, "height")
	if problem != "" {
		return 0, l.Fault(at, problem, "")
	}
	return z, nil
}

// moment reads a time; the zero time if it is none, which is no fault since
// times are only looked at for their order.
func moment(text string) time.Time {
	for _, layout := range [...]string{time.RFC3339, "2006-01-02T15:04:05"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t
		}
	}
	return time.Time{}
}
