package geo

import (
	"fmt"
	"strings"
)

// InputError says what is wrong with an input file and where. Feature, Part,
// Hole and Vertex count from 1, as a person would; 0 means "not said". A
// vertex with Hole 0 lies on the outer ring.
type InputError struct {
	File    string
	Line    int // line of the file, from 1
	Feature int
	Name    string // of the feature, if it has one
	Part    int    // polygon of a multi-part feature
	Hole    int
	Vertex  int
	At      *LonLat // where on the earth, when the file's coordinates are degrees
	Problem string  // what is wrong, lower case, no full stop
	Hint    string  // what to do, if known
}

// Error prints place and problem on one line, without the hint:
//
//	north.geojson:12: feature 2 "North", hole 1, vertex 17 (17.4812300, 48.1432100): ring crosses itself
func (e *InputError) Error() string {
	var b strings.Builder
	if e.File != "" {
		b.WriteString(e.File)
		if e.Line > 0 {
			fmt.Fprintf(&b, ":%d", e.Line)
		}
		b.WriteString(": ")
	}
	if p := e.Place(); p != "" {
		b.WriteString(p + ": ")
	}
	b.WriteString(e.Problem)
	return b.String()
}

// Place is the position inside the file in words, "" if none is known.
func (e *InputError) Place() string {
	var w []string
	if e.Feature > 0 {
		s := fmt.Sprintf("feature %d", e.Feature)
		if e.Name != "" {
			s += fmt.Sprintf(" %q", e.Name)
		}
		w = append(w, s)
	}
	if e.Part > 0 {
		w = append(w, fmt.Sprintf("part %d", e.Part))
	}
	if e.Hole > 0 {
		w = append(w, fmt.Sprintf("hole %d", e.Hole))
	}
	if e.Vertex > 0 {
		w = append(w, fmt.Sprintf("vertex %d", e.Vertex))
	}
	s := strings.Join(w, ", ")
	if e.At != nil {
		if s != "" {
			s += " "
		}
		s += "(" + e.At.String() + ")"
	}
	return s
}
