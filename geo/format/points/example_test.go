package points_test

import (
	"fmt"
	"strings"

	"hemrow/geo/format/points"
)

func ExampleRead() {
	text := "1001;1929078,144;5582610,153;174,216\n1002;1929133,654;5582626,510;177,929\n"
	_, err := points.Read("rise.csv", strings.NewReader(text), points.Options{})
	fmt.Println(err)
	f, err := points.Read("rise.csv", strings.NewReader(text), points.Options{Columns: "PENZ"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f %s\n", f.Features[0].Points[0], f.Features[0].Properties[points.PropNames])
	fmt.Println(f.Notes[0])
	// Output:
	// rise.csv:1: the columns can be PNEZ (point 1001, northing 1929078,144, easting 5582610,153, height 174,216) or PENZ (point 1001, easting 1929078,144, northing 5582610,153, height 174,216)
	// {1929078.144 5582610.153 174.216} [1001 1002]
	// info: rise.csv: columns: 1 point, 2 easting, 3 northing, 4 height; set apart by semicolons, with decimal commas
}
