package crs

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPlainDatum(t *testing.T) {
	for name, want := range map[string]string{
		"D_WGS_1984":       "wgs1984",
		"gcs_CH1903+":      "ch1903+",
		"WGS 84 ensemble":  "wgs84",
		"Tokyo":            "tokyo",
		"d":                "d",
		"":                 "",
		"MGI (Ferro)":      "mgiferro",
		"Amersfoort\u00e9": "amersfoort\u00e9",
	} {
		assert.Equal(t, want, plainDatum(name))
	}
}

// The two ways to compare names agree for every name of the table with a few
// of its own and with what is a letter more or less.
func TestSamePlainDatum(t *testing.T) {
	table, err := epsg()
	require.NoError(t, err)
	for _, line := range table.geoLines {
		for _, i := range []int{gName, gDatum} {
			name := field(line, i)
			plain := plainDatum(name)
			for _, s := range []string{plain, plain + "x", plain[:len(plain)-1], "wgs84", strings.ToUpper(plain)} {
				for _, n := range []string{name, "D_" + name, "gcs_" + name, name + " Ensemble"} {
					assert.Equal(t, s == plainDatum(n), samePlainDatum(s, n), "%q %q", s, n)
				}
			}
		}
	}
}
