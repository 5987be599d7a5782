package main

import (
	"errors"
	"fmt"
	"strings"

	"pintle/reports/logbook"
	"pintle/reports/seal"
	"pintle/rig/fold"
)

// remedies say what to do next about mistakes that come from below, where nobody knows
// which commands there are.
var remedies = []struct {
	about error
	next  string
}{
	{logbook.ErrNoRun, "pintle log lists the runs"},
	{logbook.ErrNotLogbook, "a logbook is the file that pintle run writes, logbook.db in the job folder: name it with --logbook"},
	{logbook.ErrUnreachable, "see that the server runs and that address, user and password (~/.pgpass) are right; --logbook FILE needs no server"},
	{logbook.ErrNewer, "use a pintle that is at least as new as the one that wrote it, or name another logbook with --logbook"},
	{seal.ErrPassphrase, "try again; a lost passphrase cannot be had back, and pintle key new --key ANOTHER-FILE makes another key"},
}

// complain says what is wrong, and what to do next where that is known.
func (a *app) complain(err error) {
	text := "pintle: " + err.Error()
	for _, r := range remedies {
		if errors.Is(err, r.about) {
			text += "; " + r.next
		}
	}
	if wide, ok := terminal(a); ok && !strings.Contains(text, "\n") {
		text = fold.Text("", "  ", text, wide)
		text = strings.TrimSuffix(text, "\n")
	}
	fmt.Fprintln(a.err, text)
}

// terminal is how wide the terminal is that diagnostics go to, if they go to one. What
// goes elsewhere is left in one line, for programs that look for it.
func terminal(a *app) (columns int, ok bool) {
	wide, ok := terminalColumns(a.err)
	return max(min(wide, 100), 20), ok
}

// next says at a terminal what a person may want to call next, a line each. In a log, or
// among what other programs read, it has no place.
func (a *app) next(calls ...string) {
	if _, ok := terminal(a); ok {
		fmt.Fprint(a.err, "\nNext: "+strings.Join(calls, "\n      ")+"\n")
	}
}
