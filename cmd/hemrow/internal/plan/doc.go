// Package plan reads and writes the plan file: YAML with strict keys and a
// unit in every value, turned into the specs of the packages below. It and
// report are the only places that know the grower's units; all that comes out
// of here is SI.
//
// One table, [Keys], lists every key with its kind, default and help. Reading,
// flags, the starter file, the echo in the result and the JSON Schema all go
// by that table.
//
// A plan says what a grower decides. The package opens no other file, measures
// nothing and lays no row.
//
//	p, err := plan.Parse("kestrel-rise.yaml", data)
package plan
