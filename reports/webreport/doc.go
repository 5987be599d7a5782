// Package webreport writes a run as one page of HTML that needs nothing else.
//
// There is no script in it, and it fetches nothing: its own policy forbids both.
// It is read on a screen by day and by night, on a phone, on paper, by keyboard and
// by ear. Long parts are folded with the means that the language itself has. What
// was left out, could not be told or says nothing stands as plainly as what passed,
// and no verdict is told by colour alone. The same run gives the same bytes.
package webreport
