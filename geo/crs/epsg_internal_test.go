package crs

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTableIsWhole(t *testing.T) {
	assert.LessOrEqual(t, len(epsgData), 250_000)
	table, err := epsg()
	require.NoError(t, err)
	assert.Greater(t, len(table.projected), 5300)
	assert.Greater(t, len(table.geographic), 500)
	for _, lines := range [][]string{table.geoLines, table.projLines} {
		for _, line := range lines {
			code := atoi(strings.Split(line, "\t")[0])
			d, err := ByCode(code)
			require.NoError(t, err, code)
			_, err = New(d)
			require.NoError(t, err, "%d %s", code, d.Name)
			assert.NotEmpty(t, d.Name)
			if d.Bounds != nil {
				assert.LessOrEqual(t, d.Bounds.SouthDeg, d.Bounds.NorthDeg)
			}
		}
	}
	for code, line := range table.compound {
		_, err := ByCode(code)
		assert.NoError(t, err, line)
	}
	for code := range table.unknown {
		_, err := ByCode(code)
		assert.ErrorContains(t, err, "cannot be computed here")
	}
}

func TestDamagedTable(t *testing.T) {
	_, err := readEPSG("P\tx\tname\n")
	assert.ErrorContains(t, err, "damaged")
}
