package geotiff

import (
	"encoding/binary"
	"fmt"
)

// Limits against damaged and hostile files. Real directories hold about thirty
// fields, and a file a dozen directories (common practice, no source).
const (
	maxFields      = 4096
	maxDirectories = 256
)

// directory is the fields of one image of the file.
type directory struct {
	src    *source
	fields map[uint16]entry
	next   uint64
}

// open reads the first bytes and returns the place of the first directory.
func (s *source) open() (first uint64, err error) {
	if s.size < 8 {
		return 0, s.fail("export the heights as GeoTIFF", "no TIFF file: %d bytes are too short for a header", s.size)
	}
	b, err := s.at(0, 8, "the header")
	if err != nil {
		return 0, err
	}
	switch string(b[:2]) {
	case "II":
		s.order = binary.LittleEndian
	case "MM":
		s.order = binary.BigEndian
	default:
		return 0, s.fail("export the heights as GeoTIFF", "no TIFF file: it begins with %q, not with II or MM", b[:2])
	}
	switch version := s.order.Uint16(b[2:]); version {
	case 42:
		return uint64(s.order.Uint32(b[4:])), nil
	case 43:
	default:
		return 0, s.fail("export the heights as GeoTIFF", "no TIFF file: its version is %d, not 42 (TIFF) or 43 (BigTIFF)", version)
	}
	s.big = true
	if b, err = s.at(0, 16, "the BigTIFF header"); err != nil {
		return 0, err
	}
	if size, zero := s.order.Uint16(b[4:]), s.order.Uint16(b[6:]); size != 8 || zero != 0 {
		return 0, s.fail(hintCut, "the BigTIFF header gives offsets of %d bytes and a constant of %d; they must be 8 and 0", size, zero)
	}
	return s.order.Uint64(b[8:]), nil
}

// directoryAt reads the directory at off.
func (s *source) directoryAt(off uint64) (directory, error) {
	d := directory{src: s, fields: map[uint16]entry{}}
	countSize, entrySize, linkSize := uint64(2), uint64(12), uint64(4)
	if s.big {
		countSize, entrySize, linkSize = 8, 20, 8
	}
	b, err := s.at(off, countSize, "the image directory")
	if err != nil {
		return d, err
	}
	n := uint64(s.order.Uint16(b))
	if s.big {
		n = s.order.Uint64(b)
	}
	if n == 0 || n > maxFields {
		return d, s.fail(hintCut, "the image directory at byte %d claims %d fields; 1 to %d are read", off, n, maxFields)
	}
	if b, err = s.at(off+countSize, n*entrySize+linkSize, "the image directory"); err != nil {
		return d, err
	}
	for i := range n {
		if err := d.add(b[i*entrySize:(i+1)*entrySize], off+countSize+i*entrySize); err != nil {
			return d, err
		}
	}
	d.next = uint64(s.order.Uint32(b[n*entrySize:]))
	if s.big {
		d.next = s.order.Uint64(b[n*entrySize:])
	}
	return d, nil
}

// add takes the field whose bytes b lie at off. Tags of no concern and types
// unknown are passed over, as TIFF 6.0 section 2 asks; of a tag that stands
// twice the first counts.
func (d *directory) add(b []byte, off uint64) error {
	order := d.src.order
	e := entry{src: d.src, tag: order.Uint16(b), typ: order.Uint16(b[2:])}
	inline, value := uint64(4), uint64(8)
	if d.src.big {
		inline, value = 8, 12
		e.count = order.Uint64(b[4:])
	} else {
		e.count = uint64(order.Uint32(b[4:]))
	}
	if int(e.typ) >= len(typeBytes) || typeBytes[e.typ] == 0 || tagNames[e.tag] == "" {
		return nil
	}
	if _, twice := d.fields[e.tag]; twice {
		return nil
	}
	size := typeBytes[e.typ]
	switch {
	case e.count <= inline/size:
		e.off = off + value
	case d.src.big:
		e.off = order.Uint64(b[value:])
	default:
		e.off = uint64(order.Uint32(b[value:]))
	}
	if e.count > uint64(d.src.size)/size {
		return d.src.fail(hintCut, "%s claims %d values, more than the file of %d bytes can hold", tagName(e.tag), e.count, d.src.size)
	}
	if err := d.src.within(e.off, e.count*size, tagName(e.tag)); err != nil {
		return err
	}
	d.fields[e.tag] = e
	return nil
}

// has reports whether the directory has the field, and that it is not empty.
func (d *directory) has(tag uint16) bool { return d.fields[tag].count > 0 }

// number is the first value of a field of whole numbers, or def without it.
func (d *directory) number(tag uint16, def uint64) (uint64, error) {
	if !d.has(tag) {
		return def, nil
	}
	return d.fields[tag].uint(0)
}

// tagName is a tag for messages.
func tagName(tag uint16) string {
	if name, ok := tagNames[tag]; ok {
		return name
	}
	return fmt.Sprintf("tag %d", tag)
}

var tagNames = map[uint16]string{
	tagNewSubfile: "NewSubfileType", tagOldSubfile: "SubfileType",
	tagWidth: "ImageWidth", tagHeight: "ImageLength", tagBits: "BitsPerSample",
	tagCompression: "Compression", tagPhotometric: "PhotometricInterpretation", tagFillOrder: "FillOrder",
	tagStripOffsets: "StripOffsets", tagSamples: "SamplesPerPixel", tagRowsPerStrip: "RowsPerStrip",
	tagStripCounts: "StripByteCounts", tagPlanar: "PlanarConfiguration", tagPredictor: "Predictor",
	tagTileWidth: "TileWidth", tagTileHeight: "TileLength", tagTileOffsets: "TileOffsets",
	tagTileCounts: "TileByteCounts", tagSampleFormat: "SampleFormat", tagPixelScale: "ModelPixelScale",
	tagTiepoint: "ModelTiepoint", tagTransformation: "ModelTransformation", tagGeoKeys: "GeoKeyDirectory",
	tagGeoDoubles: "GeoDoubleParams", tagGeoASCII: "GeoAsciiParams", tagMetadata: "GDAL_METADATA",
	tagNoData: "GDAL_NODATA",
}
