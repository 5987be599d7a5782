// Package yamlfile decodes YAML files strictly into Go structs and says of each
// mistake where it stands and what was expected.
//
// A File is read with a limit on its size, parsed to nodes, and decoded field by
// field as the struct's tags describe. Decoding goes on after a mistake, so that
// all of them are reported at once. Anchors, aliases, tags, merge keys and second
// documents are refused: a file means what it says where it says it. The same
// tags describe the file to whoever writes a schema of it.
//
// Lines and columns count from 1; a column is a character, not a byte.
package yamlfile
