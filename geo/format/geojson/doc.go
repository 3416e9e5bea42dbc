// Package geojson reads and writes GeoJSON (RFC 7946, 2016), GeoJSON text
// sequences (RFC 8142, 2017) and newline-delimited GeoJSON.
//
// # Coordinates
//
// What is read is WGS84 longitude and latitude in degrees, by the rule of the
// format (RFC 7946 section 4), as [format.Coord]: X is the longitude, Y the
// latitude, Z the height in metres or NaN. The crs member of the draft of 2008
// is read when it names WGS84 and refused when it names anything else.
//
// # Reading
//
// [Read] takes a whole file. [Stream] cuts an input of any length into raw
// features, one after another in constant memory; [Stream.Decode] turns a raw
// feature into a [format.Feature] and may be called from several goroutines:
//
//	s := geojson.NewStream("fields.ndjson", in)
//	for {
//		raw, err := s.Next()
//		if err == io.EOF {
//			break
//		}
//		...
//		f, notes, err := s.Decode(raw)
//	}
//
// A file may be a Feature, a FeatureCollection, a bare geometry, several of
// these one after another, one on each line, or a sequence with record
// separators. JSON is read strictly: no comments, no comma before a bracket,
// no NaN. Of two properties with the same name the later one counts; any other
// member that stands twice is refused.
//
// How far damage reaches: in a sequence or with one value on each line, a
// broken record costs that record only. In a collection, a fault inside the
// brackets of one feature costs that feature; brackets that do not match, a
// character that JSON does not know or a file cut short end the stream.
// [Read] stops at the first fault of either kind.
//
// Every fault names file, line, feature, part, hole and vertex, the column
// (counted in bytes) when the JSON itself is wrong, and the value.
//
// # Writing
//
// [Write] and [AppendFeature] write what RFC 7946 asks for: outer rings
// counter-clockwise, holes clockwise, rings closed, no crs member, shapes that
// cross the antimeridian cut in two. Nine decimals (0.11 mm), heights to 1 mm.
//
// # What this package does not do
//
// It judges numbers and structure only. Whether a ring is closed or crosses
// itself is for geo/polygon, whether a number can be a longitude for geo/field.
package geojson
