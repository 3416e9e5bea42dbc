package geo_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/geo"
)

func TestCounted(t *testing.T) {
	assert.Equal(t, "1 row", geo.Counted(1, "row"))
	assert.Equal(t, "0 rows", geo.Counted(0, "row"))
	assert.Equal(t, "12 cross alleys", geo.Counted(12, "cross alley"))
}
