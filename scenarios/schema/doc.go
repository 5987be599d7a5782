// Package schema writes the JSON Schema of a struct that yamlfile can decode.
//
// The schema (draft 2020-12) comes from the same tags as the decoder, so an editor
// offers and refuses what the program does, as far as a schema can say it: keys,
// which of them go together, words, units. What a figure comes to, and whether
// parts of a file fit together, only the program can tell.
package schema
