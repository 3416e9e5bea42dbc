package textgrid_test

import (
	"errors"
	"fmt"
	"strings"

	"hemrow/geo/format/textgrid"
)

func ExampleOpenASCII() {
	const asc = `ncols 3
nrows 2
xllcorner 100
yllcorner 200
cellsize 10
NODATA_value -9999
1 2 3
4 -9999 6
`
	r, err := textgrid.OpenASCII("hill.asc", strings.NewReader(asc), int64(len(asc)))
	if err != nil {
		fmt.Println(err)
		return
	}
	g, err := r.Window(1, 0, 3, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(g.OriginX, g.OriginY, g.Heights)
	// Output: 115 215 [2 3 NaN 6]
}

func ExampleOpenXYZ() {
	const survey = "101.3 217.9 5.1\n118.8 204.4 5.2\n130.2 225.0 5.7\n"
	_, err := textgrid.OpenXYZ("survey.xyz", strings.NewReader(survey), int64(len(survey)))
	fmt.Println(errors.Is(err, textgrid.ErrScattered))
	// Output: true
}
