// Package summary tells in plain text what a run came to.
//
// Write gives a line a scenario (the verdict, the name, the tightest margin with
// its limit and the reason) and a closing line with the counts. Detail lists all
// findings of one trial. Nothing needs colour or a terminal, and the same run
// gives the same text.
package summary
