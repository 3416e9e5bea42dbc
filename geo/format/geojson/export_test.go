package geojson

import "io"

// NewLimitedStream is NewStream with another limit on one feature.
func NewLimitedStream(name string, r io.Reader, limit int) *Stream {
	s := NewStream(name, r)
	s.limit = limit
	return s
}
