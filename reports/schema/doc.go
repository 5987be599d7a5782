// Package schema describes what the program writes for other programs as JSON
// Schema (draft 2020-12), taken from the types that it is written from.
//
// A field that is always written is required, and no other field is allowed. A
// field's tag doc says what it means, enum which words it may have, and const the
// one word that it always has. The same type gives the same bytes.
package schema
