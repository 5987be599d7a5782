package proof

import (
	"fmt"
	"io"
	"strings"
	"time"

	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

// letters of the matrix, each a shape of its own.
var letters = map[rule.Verdict]byte{rule.Pass: '.', rule.Fail: 'X', rule.Inconclusive: '?', rule.Void: '!', rule.Unsettled: ' '}

// Print writes the matrix and what follows from it. The matrix is cut into pieces
// that fit the width.
func (p *Proof) Print(w io.Writer, width int) error {
	t := &printer{w: w}
	p.matrix(t, width)
	p.cheapest(t)
	p.worth(t)
	p.complaints(t)
	p.Score(t)
	return t.err
}

// A printer keeps the first error, so that a page can be written without asking
// after every line.
type printer struct {
	w   io.Writer
	err error
}

func (t *printer) Write(b []byte) (int, error) {
	if t.err == nil {
		_, t.err = t.w.Write(b)
	}
	return len(b), t.err
}

func (t *printer) line(format string, args ...any) { fmt.Fprintf(t, format+"\n", args...) }

// matrix prints a row for each controller and a column for each scenario.
func (p *Proof) matrix(t *printer, width int) {
	names := len("scenarios 10 to 99")
	for _, r := range p.Rows {
		if !r.Pair {
			names = max(names, len(r.Name))
		}
	}
	groups := max(1, (width-names-1)/11)
	for from := 0; from < len(p.Scenarios); from += groups * 10 {
		to := min(from+groups*10, len(p.Scenarios))
		t.line("%-*s %s", names, fmt.Sprintf("scenarios %d to %d", from+1, to), ruler(from, to))
		t.line("%-*s %s", names, "sound", cells(p.Sound[from:to]))
		for _, r := range p.Rows {
			t.line("%-*s %s", names, cut(r.Name, names), cells(r.Cells[from:to]))
		}
		t.line("")
	}
	t.line("X fail   . pass   ? inconclusive   ! void   blank: not performed, being long,")
	t.line("and the defect caught already")
	t.line("")
}

// cut shortens a name to a width. The names of pairs are long, and are written
// out further down.
func cut(name string, width int) string {
	if len(name) > width {
		return name[:width-3] + "..."
	}
	return name
}

// ruler numbers the columns by their last digit, in groups of ten.
func ruler(from, to int) string {
	var b strings.Builder
	for i := from; i < to; i++ {
		if i > from && i%10 == 0 {
			b.WriteByte(' ')
		}
		b.WriteByte(byte('0' + (i+1)%10))
	}
	return b.String()
}

func cells(cells []Cell) string {
	var b strings.Builder
	for i, c := range cells {
		if i > 0 && i%10 == 0 {
			b.WriteByte(' ')
		}
		b.WriteByte(letters[c.Verdict])
	}
	return strings.TrimRight(b.String(), " ")
}

// cheapest prints for each defect what catches it in the least time.
func (p *Proof) cheapest(t *printer) {
	t.line("Caught at the least cost by")
	for i := range p.Rows {
		r := &p.Rows[i]
		if c, ok := p.Cheapest(i); ok {
			others := ""
			if n := len(r.By()) - 1; n > 0 {
				others = fmt.Sprintf(", and by %d more", n)
			}
			t.line("  %s", r.Name)
			t.line("      %s, %s%s", p.Scenarios[c].Name, short(p.Scenarios[c].Took), others)
		}
	}
	t.line("")
}

// worth prints for each scenario its bench time and what only it catches.
func (p *Proof) worth(t *printer) {
	names := 0
	for _, s := range p.Scenarios {
		names = max(names, len(s.Name))
	}
	t.line("Scenarios, the bench time of a trial, and what only they catch")
	for i, s := range p.Scenarios {
		t.line("%3d %-*s %8s", i+1, names, s.Name, short(s.Took))
		for _, row := range p.Only(i) {
			t.line("      only: %s", p.Rows[row].Name)
		}
	}
	t.line("")
}

// complaints says what keeps the proof from holding.
func (p *Proof) complaints(t *printer) {
	for _, i := range p.Wrong() {
		t.line("the sound controller does not pass %s: %v: %s", p.Scenarios[i].Name, p.Sound[i].Verdict, p.Sound[i].Reason)
	}
	for _, i := range p.Escaped() {
		t.line("no scenario catches: %s", p.Rows[i].Name)
		fmt.Fprint(t, fold.Hanging("      ", p.Rows[i].Means, 80))
	}
}

// Score writes the sum of it.
func (p *Proof) Score(w io.Writer) {
	single, pairs, caughtSingle, caughtPairs := 0, 0, 0, 0
	for i := range p.Rows {
		n, caught := &single, &caughtSingle
		if p.Rows[i].Pair {
			n, caught = &pairs, &caughtPairs
		}
		*n++
		if len(p.Rows[i].By()) > 0 {
			*caught++
		}
	}
	fmt.Fprintf(w, "%d of %d defects caught", caughtSingle, single)
	if pairs > 0 {
		fmt.Fprintf(w, ", and %d of %d pairs", caughtPairs, pairs)
	}
	fmt.Fprintf(w, " (%.4g %%)\nthe sound controller passes %d of %d scenarios\n",
		100*float64(caughtSingle+caughtPairs)/float64(max(1, single+pairs)), len(p.Scenarios)-len(p.Wrong()), len(p.Scenarios))
}

// PrintShortest writes the smallest set that catches as much, a name a line.
func (p *Proof) PrintShortest(w io.Writer) error {
	c := p.Shortest()
	t := &printer{w: w}
	var whole time.Duration
	for _, s := range p.Scenarios {
		whole += s.Took
	}
	for _, i := range c.Scenarios {
		t.line("%s", p.Scenarios[i].Name)
	}
	certain := "no smaller set does"
	if !c.Smallest {
		certain = "whether a smaller set would do was not searched to the end"
	}
	t.line("")
	t.line("%d of %d scenarios catch the same defects in %s of %s bench time;\n%s",
		len(c.Scenarios), len(p.Scenarios), short(c.Took), short(whole), certain)
	return t.err
}

// short gives a bench time to a tenth of a second below a minute, to a second
// above.
func short(d time.Duration) string {
	if d < time.Minute {
		return wording.Time(d.Round(100 * time.Millisecond))
	}
	return wording.Time(d.Round(time.Second))
}
