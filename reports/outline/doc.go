// Package outline writes what a run came to as JSON for other programs, in fields
// whose names are kept.
//
// It is the short form: what was judged and what came of it, without samples,
// budgets or files. Names carry their units. A verdict is a word, and whatever is no
// pass is never the word pass. Within a format's number fields may be added and none
// is taken away, renamed or given another meaning.
package outline
