package catalog

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryCoefficientHasASource(t *testing.T) {
	all := All()
	require.Len(t, all, int(count))
	names := map[string]bool{}
	for i, c := range all {
		assert.Equal(t, ID(i), c.ID, c.Name)
		assert.Equal(t, c, Get(c.ID))
		assert.NotEmpty(t, strings.TrimSpace(c.Source), c.Name)
		assert.NotEmpty(t, c.Unit, c.Name)
		assert.False(t, names[c.Name], "%s twice", c.Name)
		names[c.Name] = true
		assert.True(t, c.Value > 0 && !math.IsInf(c.Value, 0), c.Name)
	}
	assert.Zero(t, Get(-1))
	assert.Zero(t, Get(count))
}

// 300 and 800 lb/yd3 in metric, by NIST SP 811: 0.45359237 kg in
// 0.764554857984 m3.
func TestBulkDensitiesAreThoseOfTheirSource(t *testing.T) {
	const lbYd3 = 0.45359237 / 0.764554857984
	assert.InDelta(t, 300*lbYd3, Get(ChipBulkDry).Value, 0.5)
	assert.InDelta(t, 800*lbYd3, Get(ChipBulkWet).Value, 0.5)
	mid := Get(ChipBulk).Value
	assert.True(t, Get(ChipBulkDry).Value < mid && mid < Get(ChipBulkWet).Value)
}

func TestSoilsSwell(t *testing.T) {
	for _, s := range Soils() {
		assert.True(t, s.SwellPct >= 10 && s.SwellPct <= 70, s.Name)
	}
	assert.NotEmpty(t, SoilSource)
	assert.Contains(t, Soils(), Soil{"loam", Get(LoamSwell).Value})
	assert.Equal(t, SoilSource, Get(LoamSwell).Source)
}

func TestBeaufortForce(t *testing.T) {
	// Beaufort scale, classes in m/s.
	for _, c := range []struct {
		name   string
		windMS float64
		force  int
	}{
		{"below zero", -1, 0},
		{"calm", 0.2, 0},
		{"light air", 0.3, 1},
		{"top of 8", 20.7, 8},
		{"bottom of 9", 20.8, 9},
		{"top of 11", 32.6, 11},
		{"hurricane", 32.7, 12},
		{"beyond", 100, 12},
	} {
		t.Run(c.name, func(t *testing.T) { assert.Equal(t, c.force, BeaufortForce(c.windMS)) })
	}
	assert.Equal(t, 8, BeaufortForce(Get(GaleWind).Value))
	assert.NotEmpty(t, BeaufortSource)
}
