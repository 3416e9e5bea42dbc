package geotiff

import (
	"fmt"
	"math"
)

// Values of the tags that are read (TIFF 6.0; deflate by Adobe's technical
// note 3, 2005, where also predictor 3 is described).
const (
	packNone       = 1
	packLZW        = 5
	packDeflate    = 8
	packOldDeflate = 32946
	packPackBits   = 32773

	predictNone  = 1
	predictWhole = 2
	predictFloat = 3

	photoRGB = 2 // from here on colours, not one quantity

	planarSeparate = 2

	formatUnsigned  = 1
	formatSigned    = 2
	formatFloat     = 3
	formatUndefined = 4
)

const (
	// maxBlock is how many bytes one compressed strip or tile may unpack to.
	maxBlock = 64 << 20
	// maxSide is how many cells a side may have, so that products of two sides
	// and a sample's bytes fit 63 bits.
	maxSide = 1 << 28
)

// image says how the cells of one image are stored.
type image struct {
	width, height uint64 // cells
	sample        sample
	samples       uint64 // of a cell, as they lie together in a block
	bands         uint64
	pack          uint64
	predictor     uint64
	block         struct{ width, height uint64 } // cells
	tiled         bool
	across        uint64 // blocks in a row of blocks
	offsets       entry
	counts        entry // of bytes; empty is allowed without compression
}

// sample is how one number is stored.
type sample struct {
	format uint64 // formatUnsigned, formatSigned, formatFloat
	bits   uint64
}

func (s sample) bytes() uint64 { return s.bits / 8 }

func (s sample) String() string {
	names := map[uint64]string{formatUnsigned: "uint", formatSigned: "int", formatFloat: "float"}
	if name, ok := names[s.format]; ok {
		return fmt.Sprintf("%s%d", name, s.bits)
	}
	return fmt.Sprintf("numbers of format %d and %d bits", s.format, s.bits)
}

// rowBytes is the length of one row of a block.
func (im *image) rowBytes() uint64 { return im.block.width * im.cellBytes() }

// cellBytes is the step from one cell to the next in a block.
func (im *image) cellBytes() uint64 { return im.samples * im.sample.bytes() }

// rowsOf is how many rows are stored in blocks of row of blocks number by: the
// last strip is cut at the edge of the image, tiles are whole.
func (im *image) rowsOf(by uint64) uint64 {
	if im.tiled {
		return im.block.height
	}
	return min(im.block.height, im.height-by*im.block.height)
}

// describe reads the fields of an image and refuses what is not read.
func (d *directory) describe() (im image, err error) {
	for _, step := range []func(*image) error{d.sizes, d.kind, d.packing, d.blocks} {
		if err := step(&im); err != nil {
			return im, err
		}
	}
	return im, nil
}

// wanted is one number to read from a directory.
type wanted struct {
	tag uint16
	def uint64
	to  *uint64
}

func (d *directory) numbers(want ...wanted) (err error) {
	for _, w := range want {
		if *w.to, err = d.number(w.tag, w.def); err != nil {
			return err
		}
	}
	return nil
}

func (d *directory) sizes(im *image) error {
	if err := d.numbers(wanted{tagWidth, 0, &im.width}, wanted{tagHeight, 0, &im.height}); err != nil {
		return err
	}
	if im.width == 0 || im.height == 0 || im.width > maxSide || im.height > maxSide {
		return d.src.fail(hintCut, "the image is %d x %d cells; 1 to %d on a side are read", im.width, im.height, maxSide)
	}
	return nil
}

// kind reads what a cell holds.
func (d *directory) kind(im *image) error {
	var photo, planar, order uint64
	err := d.numbers(
		wanted{tagBits, 1, &im.sample.bits}, wanted{tagSampleFormat, formatUnsigned, &im.sample.format},
		wanted{tagSamples, 1, &im.bands}, wanted{tagPhotometric, 0, &photo},
		wanted{tagPlanar, 1, &planar}, wanted{tagFillOrder, 1, &order})
	if err != nil {
		return err
	}
	if photo >= photoRGB && photo != 4 && photo < 32768 { // 4 is a mask; from 32768 on private
		return d.src.fail("open the raster of heights the picture was made from",
			"the cells are colours (%s), not heights", named(photometrics, photo))
	}
	if im.sample.format == formatUndefined {
		im.sample.format = formatUnsigned
	}
	switch im.sample {
	case sample{formatUnsigned, 8}, sample{formatUnsigned, 16}, sample{formatUnsigned, 32}, sample{formatUnsigned, 64},
		sample{formatSigned, 8}, sample{formatSigned, 16}, sample{formatSigned, 32}, sample{formatSigned, 64},
		sample{formatFloat, 32}, sample{formatFloat, 64}:
	default:
		return d.src.fail(convert("-ot Float64"), "the heights are stored as %v, which is not read", im.sample)
	}
	if order != 1 {
		return d.src.fail(convert("-co COMPRESS=DEFLATE"), "the bits of a byte lie backwards (FillOrder %d), which is not read", order)
	}
	if im.bands == 0 || im.bands > math.MaxUint16 {
		return d.src.fail(hintCut, "a cell has %d values; 1 to %d are read", im.bands, math.MaxUint16)
	}
	im.samples = im.bands
	if planar == planarSeparate {
		im.samples = 1 // the blocks of the first band come first
	}
	return d.oneKind(im)
}

// oneKind checks that all values of a cell are of one size, which the place of
// the next cell depends on.
func (d *directory) oneKind(im *image) error {
	bits := d.fields[tagBits]
	for i := uint64(1); i < min(bits.count, im.samples); i++ {
		b, err := bits.uint(i)
		if err != nil {
			return err
		}
		if b != im.sample.bits {
			return d.src.fail(convert("-b 1"), "the values of a cell are of %d and %d bits, which is not read", im.sample.bits, b)
		}
	}
	return nil
}

// packing reads compression and predictor.
func (d *directory) packing(im *image) error {
	if err := d.numbers(wanted{tagCompression, packNone, &im.pack}, wanted{tagPredictor, predictNone, &im.predictor}); err != nil {
		return err
	}
	switch im.pack {
	case packNone, packPackBits: // they know no predictor
		im.predictor = predictNone
		return nil
	case packLZW, packDeflate, packOldDeflate:
	default:
		return d.src.fail(convert("-co COMPRESS=DEFLATE"), "the compression %s is not read", named(compressions, im.pack))
	}
	whole := im.predictor == predictNone || im.predictor == predictWhole
	if !whole && (im.predictor != predictFloat || im.sample.format != formatFloat) {
		return d.src.fail(convert("-co COMPRESS=DEFLATE -co PREDICTOR=1"), "predictor %d for %v is not read", im.predictor, im.sample)
	}
	return nil
}

// blocks reads how the image is cut into strips or tiles.
func (d *directory) blocks(im *image) error {
	im.tiled = d.has(tagTileWidth)
	if im.tiled {
		im.offsets, im.counts = d.fields[tagTileOffsets], d.fields[tagTileCounts]
		if err := d.numbers(wanted{tagTileWidth, 0, &im.block.width}, wanted{tagTileHeight, 0, &im.block.height}); err != nil {
			return err
		}
	} else {
		im.offsets, im.counts = d.fields[tagStripOffsets], d.fields[tagStripCounts]
		im.block.width = im.width
		if err := d.numbers(wanted{tagRowsPerStrip, im.height, &im.block.height}); err != nil {
			return err
		}
		im.block.height = min(im.block.height, im.height)
	}
	if im.block.width == 0 || im.block.height == 0 || im.block.width > maxSide || im.block.height > maxSide {
		return d.src.fail(hintCut, "the blocks are %d x %d cells; 1 to %d on a side are read", im.block.width, im.block.height, maxSide)
	}
	if im.pack != packNone && im.rowBytes() > maxBlock/im.block.height {
		return d.src.fail(convert("-co TILED=YES -co COMPRESS=DEFLATE"),
			"the compressed blocks of %d x %d cells are larger than %d MiB", im.block.width, im.block.height, maxBlock>>20)
	}
	im.across = (im.width-1)/im.block.width + 1
	need := im.across * ((im.height-1)/im.block.height + 1)
	if im.offsets.count < need {
		return d.src.fail(hintCut, "the file gives the places of %d blocks; the image has %d", im.offsets.count, need)
	}
	if im.counts.count < need && (im.pack != packNone || im.counts.count > 0) {
		return d.src.fail(hintCut, "the file gives the lengths of %d blocks; the image has %d", im.counts.count, need)
	}
	return nil
}

// convert is a hint: the command that turns a file into one that is read.
func convert(options string) string {
	return "convert it: gdal_translate " + options + " in.tif out.tif"
}

// named is a value with its name.
func named(names map[uint64]string, v uint64) string {
	if name, ok := names[v]; ok {
		return fmt.Sprintf("%s (%d)", name, v)
	}
	return fmt.Sprint(v)
}

// compressions that are not read, by their registered numbers.
var compressions = map[uint64]string{
	2: "CCITT RLE", 3: "CCITT fax 3", 4: "CCITT fax 4", 6: "old JPEG", 7: "JPEG", 9: "JBIG", 10: "JBIG",
	34676: "SGI log", 34712: "JPEG 2000", 34887: "LERC", 34925: "LZMA", 50000: "ZSTD", 50001: "WebP", 50002: "JPEG XL",
}

var photometrics = map[uint64]string{
	2: "RGB", 3: "palette", 5: "CMYK", 6: "YCbCr", 8: "CIE L*a*b*", 9: "ICC L*a*b*", 10: "ITU L*a*b*",
}
