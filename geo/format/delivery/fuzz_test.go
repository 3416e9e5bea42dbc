package delivery_test

import (
	"encoding/binary"
	"errors"
	"io"
	"testing"

	"hemrow/geo"
	"hemrow/geo/format/delivery"
)

// Any bytes are read or refused as input, the same way by each entrance.
func FuzzRead(f *testing.F) {
	for _, s := range [][]byte{
		[]byte(geoJSON), []byte(kmlText), []byte(gpxText), []byte(taskText), []byte(wktText), []byte(csvText), []byte(ascText), []byte(xyzText),
		[]byte(prjText), tiff(), shapes(f, "x")["x.shp"], packedSet(f, "x"), packed(f, "doc.kml", kmlText), packed(f, "TASKDATA/TASKDATA.XML", taskText),
		wide(csvText, binary.LittleEndian), wide(kmlText, binary.BigEndian), nil, []byte("<"), []byte("PK\x03\x04"), []byte("\x1f\x8b\x08"), []byte("II*\x00"),
		[]byte("SRID=25832;POINT (1 2)"), []byte("\x1e{}\n"), []byte("\xff\xfe<"),
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := delivery.Read(delivery.Bytes("input", data), delivery.Options{})
		var in *geo.InputError
		switch {
		case err == nil && file.Format == "":
			t.Fatal("neither a format nor an error")
		case err != nil && !errors.As(err, &in):
			t.Fatalf("no error of the input: %v", err)
		}
		h, errH := delivery.Heights(delivery.Bytes("input", data), delivery.Options{})
		switch {
		case errH != nil && !errors.As(errH, &in):
			t.Fatalf("no error of the input: %v", errH)
		case errH == nil && h.Raster != nil:
			l := h.Raster.Layout()
			_, _ = h.Raster.Window(0, 0, min(l.Cols, 50), min(l.Rows, 50))
		}
		stream(t, data, err)
	})
}

// stream checks that a stream hands out something exactly where Read does.
func stream(t *testing.T, data []byte, read error) {
	s, err := delivery.OpenStream(delivery.Bytes("input", data), delivery.Options{})
	if err != nil {
		if read == nil {
			t.Fatalf("read, but not opened: %v", err)
		}
		return
	}
	defer s.Close()
	for {
		rec, err := s.Next()
		if err != nil {
			if read == nil && err != io.EOF {
				t.Fatalf("read, but not to its end: %v", err)
			}
			return
		}
		if _, _, err := rec.Decode(); err != nil && read == nil {
			t.Fatalf("read, but feature %d is refused: %v", rec.Number, err)
		}
	}
}
