package geotiff

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"

	"hemrow/geo"
)

// metadata is the GDAL_METADATA field:
//
//	<GDALMetadata>
//	  <Item name="SCALE" sample="0" role="scale">0.01</Item>
//	</GDALMetadata>
type metadata struct {
	Items []struct {
		Sample string `xml:"sample,attr"`
		Role   string `xml:"role,attr"`
		Text   string `xml:",chardata"`
	} `xml:"Item"`
}

// maxMetadata is the longest GDAL_METADATA that is read; it holds some hundred
// bytes by rights (common practice, no source).
const maxMetadata = 1 << 20

// metadata reads scale, offset and unit of the first band.
func (d *directory) metadata() (to scale, unit string, err error) {
	to = scale{none: math.NaN(), factor: 1}
	e := d.fields[tagMetadata]
	if !d.has(tagMetadata) || e.count > maxMetadata {
		return to, "", nil
	}
	text, err := e.text()
	if err != nil {
		return to, "", err
	}
	var m metadata
	if err := xml.Unmarshal([]byte(text), &m); err != nil {
		return to, "", d.src.fail("write the file again: gdal_translate -co PROFILE=GeoTIFF in.tif out.tif",
			"GDAL_METADATA, which may say how heights are scaled, is no XML: %v", err)
	}
	for _, item := range m.Items {
		if item.Sample != "0" {
			continue
		}
		switch item.Role {
		case "scale":
			to.factor, err = d.finite(item.Role, item.Text)
		case "offset":
			to.offset, err = d.finite(item.Role, item.Text)
		case "unittype":
			unit = strings.TrimSpace(item.Text)
		}
		if err != nil {
			return to, "", err
		}
	}
	return to, unit, nil
}

func (d *directory) finite(role, text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(v) || role == "scale" && v == 0 {
		return 0, d.src.fail("write the file again: gdal_translate -unscale in.tif out.tif",
			"GDAL_METADATA gives the %s of the heights as %.40q", role, text)
	}
	return v, nil
}

// namedUnitM is a unit of height by its name, 0 unknown.
func namedUnitM(name string) float64 {
	switch strings.ToLower(strings.ReplaceAll(name, "_", " ")) {
	case "m", "metre", "metres", "meter", "meters":
		return 1
	case "ft", "foot", "feet", "foot (international)", "international foot":
		return geo.FootM
	case "us-ft", "ftus", "us survey foot", "us survey feet", "foot us":
		return geo.SurveyFootM
	}
	return 0
}
