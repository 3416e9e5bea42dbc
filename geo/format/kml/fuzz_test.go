package kml_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"hemrow/geo/format/markup/markuptest"
)

// FuzzRead: nothing panics, every refusal says what is wrong, and what is read
// is sound.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"rise.kml", "log.kml"} {
		in, err := os.ReadFile("testdata/" + name)
		require.NoError(f, err)
		f.Add(in)
	}
	for _, in := range []string{
		"", "<kml/>", document(mark(lineXML("15, 46, 0 16, 47, 0"))), document(mark(lineXML("1,2, 3,4, 5"))), document(mark(polygonXML(square, "", square))),
		document(mark("<Point><altitudeMode>absolute</altitudeMode><coordinates>1,2,-9999</coordinates></Point>")), document("<NetworkLink/>"),
		mark("<MultiGeometry><gx:Track><gx:coord/></gx:Track><Model/></MultiGeometry>"), string(pack(f, "doc.kml", document(mark(lineXML("1,2 3,4"))))),
	} {
		f.Add([]byte(in))
	}
	f.Fuzz(func(t *testing.T, in []byte) { markuptest.Sound(t, read, string(in)) })
}
