package format_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"

	"hemrow/geo/format"
)

func TestNaming(t *testing.T) {
	type offer struct {
		key   string
		value any
	}
	for name, c := range map[string]struct {
		offers []offer
		want   string
	}{
		"nothing":               {nil, ""},
		"no key of a name":      {[]offer{{"crop", "hazel"}, {"x", "y"}}, ""},
		"best key wins":         {[]offer{{"id", "7"}, {"NAME", " Kestrel Rise "}, {"label", "no"}}, "Kestrel Rise"},
		"first of two the same": {[]offer{{"Name", "one"}, {"NAME", "two"}}, "one"},
		"empty is passed over":  {[]offer{{"name", "  "}, {"Parcel", "P 4"}}, "P 4"},
		"number":                {[]offer{{"block", json.Number("12")}}, "12"},
		"no text":               {[]offer{{"name", true}, {"title", nil}}, ""},
	} {
		var n format.Naming
		for _, o := range c.offers {
			n.Offer(o.key, o.value)
		}
		assert.Equal(t, c.want, n.Name, name)
	}
}
