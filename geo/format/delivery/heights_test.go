package delivery_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/format/delivery"
)

// A grid is the same grid whatever it is written in, and every outline format
// with heights is a survey.
func TestHeights(t *testing.T) {
	commas := strings.ReplaceAll(ascText, "cellsize 10", "cellsize 10,0")
	for _, c := range []struct {
		name, path string
		fsys       fstest.MapFS
		format     string
		code       int // of the system, 0 silent or by text
		wkt        bool
	}{
		{"GeoTIFF", "a.tif", folder(t, "a.tif", tiff()), "GeoTIFF", 27700, false},
		{"59 GeoTIFF called .asc", "a.asc", folder(t, "a.asc", tiff()), "GeoTIFF", 27700, false},
		{"ASCII grid", "a.asc", folder(t, "a.asc", ascText), "ESRI ASCII grid", 0, false},
		{"ASCII grid with its .prj", "a.asc", folder(t, "a.asc", ascText, "a.prj", prjText), "ESRI ASCII grid", 0, true},
		{"24 ASCII grid with its .prj in capitals", "a.asc", folder(t, "a.asc", ascText, "A.PRJ", prjText), "ESRI ASCII grid", 0, true},
		{"ASCII grid with decimal commas", "a.txt", folder(t, "a.txt", commas), "ESRI ASCII grid", 0, false},
		{"XYZ grid", "a.xyz", folder(t, "a.xyz", xyzText), "XYZ", 0, false},
		{"XYZ grid with its .prj", "a.xyz", folder(t, "a.xyz", xyzText, "a.prj", prjText), "XYZ", 0, true},
		{".asc that is an XYZ grid", "a.asc", folder(t, "a.asc", xyzText), "XYZ", 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, err := delivery.Heights(at(c.fsys, c.path), delivery.Options{})
			require.NoError(t, err)
			defer func() { require.NoError(t, h.Close()) }()
			require.NotNil(t, h.Raster)
			assert.Contains(t, h.File.Format, c.format)
			assert.Equal(t, c.code, h.File.Reference.Code)
			assert.Equal(t, c.wkt, h.File.Reference.WKT != "")
			assert.Equal(t, h.File.Reference, h.Raster.Head().Reference)
			l := h.Raster.Layout()
			assert.Equal(t, []int{4, 3}, []int{l.Cols, l.Rows})
			assert.Equal(t, []float64{350005, 236025, 10, -10}, []float64{l.OriginX, l.OriginY, l.ColX, l.RowY})
			g, err := h.Raster.Window(1, 1, 3, 3)
			require.NoError(t, err)
			assert.Equal(t, []float64{6, 7, 10, 11}, g.Heights)
		})
	}
}

func TestHeightsOfPoints(t *testing.T) {
	for _, c := range everyFormat(t) {
		t.Run(c.name, func(t *testing.T) {
			want, err := delivery.Read(at(c.fsys, c.path), c.opt)
			require.NoError(t, err)
			h, err := delivery.Heights(at(c.fsys, c.path), c.opt)
			require.NoError(t, err)
			assert.Nil(t, h.Raster)
			assert.Equal(t, positions(want.Features...), positions(h.File.Features...))
			require.NoError(t, h.Close())
		})
	}
	t.Run("no grid if columns are said", func(t *testing.T) {
		h, err := delivery.Heights(delivery.Bytes("x", []byte(xyzText)), delivery.Options{Columns: "ENZ"})
		require.NoError(t, err)
		assert.Nil(t, h.Raster)
		assert.Equal(t, 12, positions(h.File.Features...))
	})
	t.Run("scattered", func(t *testing.T) {
		h, err := delivery.Heights(at(folder(t, "a.xyz", "1.5 2.25 3\n7.1 8.2 9\n4.4 1.1 6\n", "a.prj", prjText), "a.xyz"), delivery.Options{})
		require.NoError(t, err)
		assert.Nil(t, h.Raster)
		assert.Equal(t, "British_National_Grid", h.File.Reference.Declared)
	})
}

func TestHeightsRefuses(t *testing.T) {
	for _, c := range []struct{ name, path, text, say string }{
		{"no such file", "b.tif", "x", "does not exist"},
		{"29 TIFF cut short", "a.tif", string(tiff()[:60]), "a.tif"},
		{"29 ASCII grid cut short", "a.asc", ascText[:60], "a.asc"},
		{"29 web page", "a.tif", "<html></html>", "HTML page"},
		{"29 empty", "a.tif", "", "the file is empty"},
		{"picture without a place", "a.tif", "II*\x00\x08\x00\x00\x00\x00\x00\x00\x00\x00\x00", "a.tif"},
		{"59 gzip", "a.xyz", "\x1f\x8b\x08\x00\x00\x00", "gzip"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, err := delivery.Heights(at(folder(t, "a.tif", c.text, "a.asc", c.text, "a.xyz", c.text), c.path), delivery.Options{})
			if err == nil { // a header may be whole where the cells are not
				require.NotNil(t, h.Raster)
				l := h.Raster.Layout()
				_, err = h.Raster.Window(0, 0, l.Cols, l.Rows)
			}
			assert.Contains(t, refused(t, err).Error(), c.say)
		})
	}
}

func TestIsRaster(t *testing.T) {
	for name, want := range map[string]bool{"tif": true, "asc": true, "kml": false, "csv": false, "none": false} {
		fsys := folder(t, "a.tif", tiff(), "a.asc", ascText, "a.kml", kmlText, "a.csv", csvText)
		assert.Equal(t, want, delivery.IsRaster(at(fsys, "a."+name)), name)
	}
	assert.False(t, delivery.IsRaster(at(fstest.MapFS{}, ".")))
}

func TestDatumGridRefuses(t *testing.T) {
	_, err := delivery.DatumGrid(at(folder(t, "a.gsb", "no grid at all"), "a.gsb"))
	require.ErrorContains(t, err, "a.gsb")
	_, err = delivery.DatumGrid(at(folder(t), "b.gsb"))
	assert.Contains(t, refused(t, err).Error(), "b.gsb: ")
}
