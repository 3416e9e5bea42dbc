package crs

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The sizes that the note of a lost shift names. Source: the sets of the EPSG
// dataset v10.076 applied by testdata/reference/make_datum.py.
func TestLikelyShifts(t *testing.T) {
	f, err := os.Open("testdata/likely.csv")
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, len(likelyShifts)+1)
	for i, row := range rows[1:] {
		l := likelyShifts[i]
		for j, got := range []float64{l.semiMajorM, l.withinM} {
			want, err := strconv.ParseFloat(row[j+1], 64)
			require.NoError(t, err)
			assert.InDelta(t, want, got, 0, row[0])
		}
		for j, got := range []float64{l.sizeM, l.mostM} {
			want, err := strconv.ParseFloat(row[j+4], 64)
			require.NoError(t, err)
			assert.InDelta(t, want, got, 5, "%s, rounded to tens", row[0])
		}
	}
}

func TestLikelyShiftOfAnyFigure(t *testing.T) {
	for _, c := range []struct {
		name                    string
		semiMajorM, sizeM, most float64
	}{
		{"Clarke 1880 of the RGS", 6378249.145, 200, 1050},
		{"Bessel of Namibia", 6377483.865, 200, 2200},
		{"WGS 72", 6378135, 5, 320},
	} {
		size, most := likelyShiftM(Ellipsoid{SemiMajorM: c.semiMajorM, InvFlatteningRatio: 299})
		assert.InDelta(t, c.sizeM, size, 0, c.name)
		assert.InDelta(t, c.most, most, 0, c.name)
	}
}
