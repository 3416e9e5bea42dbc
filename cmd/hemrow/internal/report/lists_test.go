package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func readCSV(t *testing.T, data []byte) [][]string {
	t.Helper()
	// RFC 4180 section 2.1: lines end with CRLF, the last too
	assert.Equal(t, bytes.Count(data, []byte("\n")), bytes.Count(data, []byte("\r\n")))
	assert.True(t, bytes.HasSuffix(data, []byte("\r\n")))
	lines, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	require.NoError(t, err)
	return lines
}

func TestRowsCSV(t *testing.T) {
	for _, s := range scenes(t) {
		d := s.document(t)
		lines := readCSV(t, RowsCSV(d))
		require.Len(t, lines, 1+d.Totals.Pieces, s.name)
		var sum float64
		for _, l := range lines[1:] {
			v, err := strconv.ParseFloat(l[8], 64)
			require.NoError(t, err)
			sum += v
			assert.Empty(t, l[23], "nothing was counted, so nothing is written")
		}
		// lengths are rounded to 1 mm each
		assert.InDelta(t, d.Totals.PlanM, sum, 0.0005*float64(1+d.Totals.Pieces), s.name)
	}
	d := smallDocument(t, "us")
	lines := readCSV(t, RowsCSV(d))
	assert.Equal(t, "R002.2", lines[3][0])
	assert.Equal(t, "33.123", lines[3][23], "metric whatever the reader's units")
	assert.Equal(t, "hazel (plants)", lines[0][30])
	assert.Equal(t, "4", lines[3][30])
}

func TestTakeoffCSV(t *testing.T) {
	d := smallDocument(t, "us")
	lines := readCSV(t, TakeoffCSV(d))
	require.Len(t, lines, 1+len(d.Takeoff.Quantities))
	assert.Equal(t, []string{"film_area", "Film area", "338.4", "m2", "count", "cut length x width", "cut length = 225.6 m; width = 1.5 m", "common practice, no source"}, lines[2])
	assert.Equal(t, "estimate", lines[5][4])
}

func TestCellsAreNoFormulas(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"=cmd()", "'=cmd()"},
		{"+1", "'+1"},
		{"-1", "'-1"},
		{"@x", "'@x"},
		{"\t=x", "'=x"},
		{"\r\n=x", "'=x"},
		{"＝x", "'＝x"},
		{"\u202e=x", "'=x"},
		{"\x00=x", "'=x"},
		{"a=b", "a=b"},
		{"", ""},
		{"Kestrel", "Kestrel"},
	} {
		assert.Equal(t, c.want, cell(c.in), "%q", c.in)
	}
	for _, text := range []string{hostile, "=cmd()|' /C calc'!A0", "@sum", "-2+3", "a,\"b\"\r\nc"} {
		d := spoiled(t, text)
		for _, data := range [][]byte{RowsCSV(d), TakeoffCSV(d)} {
			for _, line := range readCSV(t, data) {
				for _, c := range line {
					if _, err := strconv.ParseFloat(c, 64); err == nil {
						continue
					}
					assert.False(t, c != "" && strings.ContainsAny(c[:1], "=+-@\t\r"), "%q", c)
					assert.NotContains(t, c, "\n")
				}
			}
		}
	}
}

// Rows that follow the land lie on no grid, whichever block they stand in.
func TestListsTellNoPlaceAcrossOfBentRows(t *testing.T) {
	d := bentDocument(t, "metric")
	d.Blocks = append(d.Blocks, smallDocument(t, "metric").Blocks[0])
	d.Rows[4].BlockNo = 2
	lines := readCSV(t, RowsCSV(d))
	assert.Equal(t, "across_m", lines[0][6])
	for _, l := range lines[1 : len(lines)-1] {
		assert.Empty(t, l[6], l[0])
	}
	assert.Equal(t, "40", lines[len(lines)-1][6])
}
