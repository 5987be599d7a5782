package main

import (
	"bytes"
	"io"
	"os"
	"regexp"
	"strings"

	"golang.org/x/term"

	"pintle/rig/fold"
)

// helpColumns is how wide text is at most: a terminal as it comes, and easy to read on any.
const helpColumns = 80

// A narrowly writes text for people to a terminal that has fewer columns than that. It
// folds the lines that are too long between words, where the terminal would break a word
// in two.
type narrowly struct {
	w       io.Writer
	columns int
	rest    []byte // the beginning of a line whose end is yet to come
	asks    bool   // there may be questions among it: the beginning of a line is not kept
}

// narrowed folds what goes to a narrow terminal, and gives what ends it.
func narrowed(w io.Writer, asks bool) (io.Writer, func()) {
	wide, ok := terminalColumns(w)
	if !ok || wide >= helpColumns {
		return w, func() {}
	}
	n := &narrowly{w: w, columns: wide, asks: asks}
	return n, n.end
}

// terminalColumns is how wide the terminal is that w writes to, if it does.
func terminalColumns(w io.Writer) (columns int, ok bool) {
	f, isFile := beneath(w).(*os.File)
	if !isFile || !term.IsTerminal(int(f.Fd())) {
		return 0, false
	}
	wide, _, err := term.GetSize(int(f.Fd()))
	return wide, err == nil && wide > 0
}

// Write writes the lines that are whole, and keeps the beginning of one that is not.
func (n *narrowly) Write(b []byte) (int, error) {
	if bytes.ContainsAny(b, "\r\x1b") { // it is drawn, and knows how wide the terminal is
		n.end()
		return n.w.Write(b)
	}
	n.rest = append(n.rest, b...)
	whole := bytes.LastIndexByte(n.rest, '\n') + 1
	var out strings.Builder
	for line := range strings.Lines(string(n.rest[:whole])) {
		if fold.Width(strings.TrimSuffix(line, "\n")) > n.columns && !isCall(line) {
			line = folded(line, n.columns)
		}
		out.WriteString(line)
	}
	n.rest = append([]byte(nil), n.rest[whole:]...)
	if n.asks {
		out.Write(n.rest)
		n.rest = nil
	}
	if _, err := io.WriteString(n.w, out.String()); err != nil {
		return 0, err
	}
	return len(b), nil
}

// folded folds a line under what it begins with, or where that leaves no room, under its
// beginning.
func folded(line string, columns int) string {
	line = fold.Figures(line)
	page, n := fold.Page(line, columns), 0
	for row := range strings.Lines(page) {
		indent := len(row) - len(strings.TrimLeft(row, " "))
		if fold.Width(strings.TrimSuffix(row, "\n")) > columns || n > 0 && columns-indent < leastWords {
			return fold.Text(line[:min(2, len(line)-len(strings.TrimLeft(line, " ")))], "  ", line, columns)
		}
		n++
	}
	return page
}

// leastWords is the fewest columns that a text needs to be read with ease.
const leastWords = 16

// isCall says that a line is to be copied into a shell. The terminal breaks it, so that it
// is still one line for whoever copies it.
func isCall(line string) bool { return aCall.MatchString(line) }

var aCall = regexp.MustCompile(`^ *(\$ |Next: )?pintle `)

// end writes a last line that has no end.
func (n *narrowly) end() {
	_, _ = n.w.Write(n.rest)
	n.rest = nil
}

// tableColumns is how wide a table may be: as the terminal is, and where there is none, with
// a row for each thing in any case, as programs want it.
func tableColumns(w io.Writer) int {
	if wide, ok := terminalColumns(w); ok {
		return wide
	}
	return 1000
}

// wide is how wide text for people is: no wider than is easy to read, nor than the
// terminal that results go to.
func (a *app) wide() int { return min(columns(a.out), helpColumns) }
