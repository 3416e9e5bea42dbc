// Package delivery opens whatever a surveyor hands over: it finds out by the
// first bytes, not by the name, which format a file has, and has the package
// of that format read it.
//
//	file, err := delivery.Read(delivery.Source{FS: os.DirFS("survey"), Path: "field.zip"}, delivery.Options{})
//
// [Read] takes outlines and obstacles: GeoJSON, shapefiles (loose, in a folder
// or zipped), KML and KMZ, GPX, ISO 11783-10 task data, well-known text and
// lists of points. [Heights] takes terrain: GeoTIFF, ESRI ASCII grids, XYZ
// grids, and every file of points or lines with heights that Read knows.
//
// Coordinates are as written; geo/field finds where on the earth they lie.
// What is known but not read (GeoPackage, FlatGeobuf, …) is refused by name
// with the way to convert it.
package delivery
