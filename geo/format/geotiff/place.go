package geotiff

import (
	"math"

	"hemrow/geo/format"
)

// layout places the centres of the cells (OGC 19-008r4 section 7.4 and annex
// B.6). Raster space counts cells; where the pixel is an area it counts from
// the outer corner of the first cell, where it is a point from its centre:
//
//	area   0---1---2        point    +---+---+
//	       | o | o |                 | 0 | 1 |
//	       +---+---+                 +---+---+
func (d *directory) layout(im *image, point bool) (format.Layout, error) {
	l := format.Layout{Cols: int(im.width), Rows: int(im.height)}
	var err error
	switch {
	case d.has(tagPixelScale) && d.has(tagTiepoint):
		err = d.byScale(&l)
	case d.has(tagTransformation):
		err = d.byMatrix(&l)
	case d.fields[tagTiepoint].count > 6:
		return l, d.src.fail("place the cells on a grid first: gdalwarp in.tif out.tif",
			"the file is placed by %d control points, which is not read", d.fields[tagTiepoint].count/6)
	default:
		return l, d.src.fail("export with georeferencing, or give the corners: gdal_translate -a_srs EPSG:n -a_ullr left top right bottom in.tif out.tif",
			"the file does not say where on the earth it lies")
	}
	if err != nil {
		return l, err
	}
	if !point {
		l.OriginX += (l.ColX + l.RowX) / 2
		l.OriginY += (l.ColY + l.RowY) / 2
	}
	cols, rows := float64(l.Cols), float64(l.Rows)
	area := l.ColX*l.RowY - l.ColY*l.RowX
	far := math.Abs(l.OriginX) + math.Abs(l.OriginY) + cols*(math.Abs(l.ColX)+math.Abs(l.ColY)) + rows*(math.Abs(l.RowX)+math.Abs(l.RowY))
	if area == 0 || math.IsNaN(area) || math.IsInf(area, 0) || math.IsInf(far, 0) {
		return l, d.src.fail("export the file again", "the cells have no size: one column is a step of (%g, %g), one row of (%g, %g)",
			l.ColX, l.ColY, l.RowX, l.RowY)
	}
	return l, nil
}

// byScale places by ModelPixelScale and the first ModelTiepoint: raster (I, J)
// lies at (X, Y), and rows run southward.
func (d *directory) byScale(l *format.Layout) error {
	step, err := d.fields[tagPixelScale].doubles()
	if err != nil {
		return err
	}
	tie, err := d.fields[tagTiepoint].doubles()
	if err != nil {
		return err
	}
	if len(step) < 2 || len(tie) < 6 {
		return d.src.fail(hintCut, "ModelPixelScale and ModelTiepoint hold %d and %d numbers; 3 and 6 are expected", len(step), len(tie))
	}
	if step[0] < 0 || step[1] < 0 {
		return d.src.fail("export the file again, with positive scales",
			"ModelPixelScale is (%g, %g); programs disagree on what a negative scale means", step[0], step[1])
	}
	l.ColX, l.RowY = step[0], -step[1]
	l.OriginX, l.OriginY = tie[3]-tie[0]*l.ColX, tie[4]-tie[1]*l.RowY
	return nil
}

// byMatrix places by the 4 x 4 matrix of ModelTransformation, row by row.
func (d *directory) byMatrix(l *format.Layout) error {
	m, err := d.fields[tagTransformation].doubles()
	if err != nil {
		return err
	}
	if len(m) != 16 {
		return d.src.fail(hintCut, "ModelTransformation holds %d numbers; 16 are expected", len(m))
	}
	l.ColX, l.RowX, l.OriginX = m[0], m[1], m[3]
	l.ColY, l.RowY, l.OriginY = m[4], m[5], m[7]
	return nil
}
