package format

import (
	"encoding/json"
	"strings"
)

// nameKeys are the properties that may hold a name, best first. They are
// matched without regard to case.
var nameKeys = [...]string{"name", "label", "title", "field", "field_name", "fieldname", "parcel", "block", "id"}

// Naming guesses the name of a feature from its properties, which are offered
// one by one in file order. The zero Naming has no name yet.
type Naming struct {
	// Name is the best so far, "" if none.
	Name string
	good int // len(nameKeys) for the best key, 0 for none
}

// Offer looks at one property.
func (n *Naming) Offer(key string, value any) {
	good := len(nameKeys) - nameRank(key)
	if good <= n.good {
		return
	}
	if name := nameFrom(value); name != "" {
		n.Name, n.good = name, good
	}
}

// nameRank is the place of key in nameKeys, or len(nameKeys).
func nameRank(key string) int {
	if len(key) < 2 || len(key) > 10 {
		return len(nameKeys)
	}
	for i, k := range nameKeys {
		if len(k) == len(key) && strings.EqualFold(k, key) {
			return i
		}
	}
	return len(nameKeys)
}

// nameFrom is a property's value as a name.
func nameFrom(v any) string {
	switch v := v.(type) {
	case string:
		return strings.TrimSpace(v)
	case json.Number:
		return v.String()
	}
	return ""
}
