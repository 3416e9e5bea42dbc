package delivery

import (
	"archive/zip"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
	"hemrow/geo/format/gpx"
	"hemrow/geo/format/kml"
	"hemrow/geo/format/markup"
	"hemrow/geo/format/points"
	"hemrow/geo/format/shapefile"
	"hemrow/geo/format/taskdata"
	"hemrow/geo/format/wkt"
)

// Options settle what a file leaves open.
type Options struct {
	// Layer names the layer of an archive or folder that holds several.
	Layer string
	// Columns says what the columns of a list of points are, such as PNEZD; ""
	// follows the header or the usual order.
	Columns string
}

// Read reads outlines, obstacles, lines or points.
func Read(src Source, opt Options) (format.File, error) {
	info, err := fs.Stat(src.FS, src.Path)
	if err != nil {
		return format.File{}, src.cannot(err)
	}
	if info.IsDir() {
		return readFolder(src, opt)
	}
	f, err := src.open()
	if err != nil {
		return format.File{}, err
	}
	defer f.Close()
	name := src.Shown()
	switch sniff(src.Path, f.head) {
	case kindZip:
		return readZip(src, f, opt)
	case kindShapefile:
		return readShapes(src.as(".shp"), opt)
	case kindShapePart:
		return readShapes(src, opt)
	case kindKML:
		return kml.Read(name, f.whole())
	case kindGPX:
		return gpx.Read(name, f.whole())
	case kindTask:
		return taskdata.ReadFS(src.FS, src.Path, name)
	case kindWKT:
		file, err := wkt.Read(name, f.whole())
		return withPRJ(src, file), err
	case kindPoints:
		file, err := points.Read(name, f.whole(), points.Options{Columns: opt.Columns})
		return withPRJ(src, file), err
	case kindTIFF:
		return format.File{}, src.fault("this is a TIFF picture or grid, no outline", "heights are given as terrain")
	case kindASCIIGrid:
		return format.File{}, src.fault("this is a grid of heights, no outline", "heights are given as terrain")
	case kindPRJ:
		return format.File{}, src.fault("this describes a reference system and holds no outline", "give the file of the outline itself")
	case kindDrawing:
		return format.File{}, src.fault("this is a CAD drawing, which is not read", "ask for the outline as a shapefile, KML or GeoJSON, with its reference system")
	case kindUnknown:
		return format.File{}, src.fault("this is none of the formats that are read", "export the outline as a shapefile, KML, GeoJSON or a list of points")
	}
	return geojson.Read(name, f.whole())
}

func readShapes(src Source, opt Options) (format.File, error) {
	return shapefile.Read(src.FS, src.Path, src.Shown(), shapefile.Options{Layer: opt.Layer})
}

// readFolder reads a folder that holds a shapefile or task data.
func readFolder(src Source, opt Options) (format.File, error) {
	entries, err := fs.ReadDir(src.FS, src.Path)
	if err != nil {
		return format.File{}, src.cannot(err)
	}
	for _, e := range entries {
		switch {
		case strings.EqualFold(e.Name(), "TASKDATA.XML"), strings.EqualFold(e.Name(), "TASKDATA") && e.IsDir():
			return taskdata.ReadFS(src.FS, src.Path, src.Shown())
		case strings.EqualFold(path.Ext(e.Name()), ".shp"):
			return readShapes(src, opt)
		}
	}
	return format.File{}, src.fault("the folder holds neither a shapefile nor task data", "name the file itself")
}

// readZip looks what an archive holds.
func readZip(src Source, f *opened, opt Options) (format.File, error) {
	z, err := zip.NewReader(f.at, f.size)
	if err != nil {
		return format.File{}, src.fault("the zip archive is damaged: "+err.Error(), "fetch or pack it again")
	}
	var others []string
	for _, m := range z.File {
		member := strings.ReplaceAll(m.Name, `\`, "/")
		base := path.Base(member)
		if markup.Litter(member) {
			continue
		}
		switch ext := strings.ToLower(path.Ext(base)); {
		case ext == ".shp":
			return readShapes(src.as(".zip"), opt)
		case strings.EqualFold(base, "TASKDATA.XML"):
			return taskdata.ReadFS(src.FS, src.Path, src.Shown())
		case ext == ".kml":
			return kml.ReadArchive(src.Shown(), f.at, f.size)
		case m.FileInfo().IsDir(), base == ".DS_Store":
		default:
			others = append(others, m.Name)
		}
	}
	if len(others) == 0 {
		return format.File{}, src.fault("the zip archive is empty", "")
	}
	if len(others) > mostNamed {
		others = append(others[:mostNamed], "…")
	}
	return format.File{}, src.fault(
		fmt.Sprintf("the zip archive holds no shapefile, KML or task data, but %s", strings.Join(others, ", ")),
		"unpack it and give the file itself")
}

// zipHas reports whether an archive has a member of the extension.
func zipHas(f *opened, ext string) bool {
	z, err := zip.NewReader(f.at, f.size)
	return err == nil && slices.ContainsFunc(z.File, func(m *zip.File) bool {
		return strings.EqualFold(path.Ext(m.Name), ext) && !markup.Litter(m.Name)
	})
}

// mostNamed is how many members of an archive a message names.
const mostNamed = 6

// withPRJ adds the reference system that a .prj file beside it gives.
func withPRJ(src Source, file format.File) format.File {
	if !file.Reference.Silent() {
		return file
	}
	if text, ok := src.beside(".prj"); ok {
		file.Reference.WKT, file.Reference.Declared = text, quoted(text)
	}
	return file
}

// quoted is the first text in quotes: the name of the system.
func quoted(text string) string {
	_, rest, ok := strings.Cut(text, `"`)
	if !ok {
		return ""
	}
	name, _, _ := strings.Cut(rest, `"`)
	return name
}
