package kml

import (
	"archive/zip"
	"fmt"
	"io"
	"path"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// ReadArchive reads a KMZ archive: doc.kml, or the first KML file in it, those
// at its root before others (OGC 12-007r2 annex C; from memory). The archive
// is named as the user did.
func ReadArchive(name string, r io.ReaderAt, size int64) (format.File, error) {
	out := empty(name)
	z, err := markup.OpenArchive(name, r, size)
	if err != nil {
		return out, err
	}
	var best *zip.File
	others := 0
	for _, f := range z.File {
		if markup.Litter(f.Name) || strings.HasSuffix(f.Name, "/") || !strings.EqualFold(path.Ext(f.Name), ".kml") {
			continue
		}
		if best != nil {
			others++
		}
		if best == nil || rank(f.Name) < rank(best.Name) {
			best = f
		}
	}
	if best == nil {
		return out, &geo.InputError{
			File: name, Problem: fmt.Sprintf("none of the %s in the archive is a KML file", geo.Counted(len(z.File), "member")),
			Hint: "save the places anew as KML or KMZ",
		}
	}
	shown := name + ", " + best.Name
	in, err := best.Open()
	if err != nil {
		return out, &geo.InputError{File: shown, Problem: fmt.Sprintf("the member cannot be unpacked: %v", err)}
	}
	defer in.Close()
	if out, err = read(name, shown, in); err != nil {
		return out, err
	}
	if others > 0 {
		out.Notes = append(out.Notes, geo.Note{
			Code: geo.NoteMemberLeft, Severity: geo.Caution, Place: name,
			Text: fmt.Sprintf("%s beside %s left out", geo.Counted(others, "KML file"), markup.Clip(best.Name)),
			Hint: "if the field is in another one, unpack the archive and name that file", Value: float64(others), Unit: "members",
		})
	}
	return out, nil
}

// rank is low for the member that viewers show first.
func rank(member string) int {
	switch {
	case strings.EqualFold(member, "doc.kml"):
		return 0
	case !strings.Contains(member, "/"):
		return 1
	}
	return 2
}
