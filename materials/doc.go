// Package materials counts what a layout of rows takes: film and rolls, edge
// trench and soil, tape, stones on the seam, wood chips, holes and plants.
//
// Every figure is a [Quantity] that carries its formula in words, its inputs
// and its source. Lengths come from the layout's pieces: ground lengths, never
// straight lines on a map. Nothing here knows where a row lies.
package materials
