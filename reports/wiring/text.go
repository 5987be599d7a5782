package wiring

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"pintle/rig/fold"
	"pintle/rig/header"
)

// Text writes the sheet in characters, its paragraphs no wider than so many columns.
func (s *Sheet) Text(w io.Writer, columns int) error {
	t := &page{columns: max(columns, 40)}
	t.paragraph("", s.heading())
	t.paragraph("", s.facts())
	t.title("Lines: pin, level of the pin, what stands between, where the wire ends")
	t.lines(s)
	t.title("Connector, pin 1 at the upper left")
	t.connector(s)
	plain, shared := s.free()
	t.paragraph("", "Free pins: "+listed(plain)+"; with another use that must stay switched off: "+listed(shared)+".")
	t.title("The dead-man circuit, in general terms")
	for _, words := range s.deadMan() {
		t.paragraph("  ", words)
	}
	t.title("Cautions")
	for _, c := range s.Cautions() {
		t.paragraph("  ", c.About+": "+c.Words)
	}
	_, err := w.Write(t.Bytes())
	return err
}

func listed(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, " ")
}

type page struct {
	bytes.Buffer
	columns int
}

func (t *page) title(words string) { fmt.Fprintf(t, "\n%s\n", words) }

// paragraph writes a text with all its rows but the first set in.
func (t *page) paragraph(indent, words string) {
	if words == "" {
		return
	}
	t.WriteString(fold.Text(indent, indent+"  ", words, t.columns))
}

// lines is the table of lines, two rows and more for each.
func (t *page) lines(s *Sheet) {
	for i := range s.Wires {
		w := &s.Wires[i]
		pull := "no pull"
		if w.Pull == "up" || w.Pull == "down" {
			pull = "pull " + w.Pull
		}
		about := []string{w.Isolation()}
		for _, more := range []string{w.End(), w.Note} {
			if more != "" {
				about = append(about, oneLine(more))
			}
		}
		fmt.Fprintf(t, "  %-14s  %-11s  %s; %s; %s\n", w.Line, w.pinWords(), w.Direction(), w.Levels(), pull)
		t.paragraph(strings.Repeat(" ", 31), strings.Join(about, "; "))
	}
}

// pinWords is the wire's pin, or that it has none.
func (w *Wire) pinWords() string {
	if !w.Placed() {
		return "no pin yet"
	}
	return fmt.Sprintf("%d, %s", w.Pin.Number, w.Pin.Name())
}

// oneLine keeps a text from breaking a table.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// connector draws the pins in two columns.
func (t *page) connector(s *Sheet) {
	for n := 1; n < header.Pins; n += 2 {
		fmt.Fprintf(t, "  %30s %2d | %-2d %s\n", s.label(n, false), n, n+1, s.label(n+1, true))
	}
}

// label is the use of a pin and its name, the name next to the pin.
func (s *Sheet) label(n int, nameFirst bool) string {
	p, err := header.At(n)
	if err != nil {
		return ""
	}
	use := ""
	if w, ok := s.at(n); ok {
		use = w.Line.String()
	} else if p.Kind == header.Reserved {
		use = "reserved"
	} else if s.keeps(p) {
		use = "in use: " + string(p.Bus)
	}
	switch {
	case use == "":
		return p.Name()
	case nameFirst:
		return p.Name() + "  " + use
	}
	return use + "  " + p.Name()
}
