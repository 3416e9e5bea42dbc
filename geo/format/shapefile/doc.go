// Package shapefile reads and writes ESRI shapefiles (ESRI Shapefile Technical
// Description, white paper, July 1998): the .shp with its .shx, .dbf, .prj and
// .cpg, loose, in a folder or in a zip archive.
//
// # Coordinates
//
// What is read is X, Y and height as the file has them, as [format.Coord], in
// whatever system the .prj describes; its text is handed on as it stands. What
// is written is WGS84 longitude and latitude in degrees.
//
// # Reading
//
// [Read] takes a whole layer. [Stream] takes one record after another in
// constant memory, out of a deflated archive too; [Stream.Decode] turns a raw
// record into a [format.Feature] and may be called from several goroutines:
//
//	s, err := shapefile.Open(os.DirFS("."), "parcels.zip", "parcels.zip", shapefile.Options{})
//	defer s.Close()
//	for {
//		raw, err := s.Next()
//		if err == io.EOF {
//			break
//		}
//		...
//		f, notes, err := s.Decode(raw)
//	}
//
// The direction of rings and what lies inside what tell outer rings from
// holes, by exact tests. Heights are kept, measures dropped.
//
// How far damage reaches: a record whose content is damaged costs its feature,
// so does a damaged frame when the .shx says where the next record begins. A
// file cut short ends the stream. [Read] stops at the first fault.
//
// Text is never a reason to lose a shape: it is read in the encoding of the
// .cpg if it fits, else as UTF-8 if it is, else by the language byte of the
// .dbf, else as Windows-1252, and a note says so.
//
// # Writing
//
// [WriteSet] makes the five files of a layer, [Pack] a zip archive of them.
//
// # What this package does not do
//
// It judges numbers and structure only. Whether a ring is closed or crosses
// itself is for geo/polygon, what system a file without .prj is in for
// geo/field. MultiPatch is refused.
package shapefile
