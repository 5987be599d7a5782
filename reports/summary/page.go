package summary

import (
	"strings"
	"unicode/utf8"

	"pintle/rig/fold"
	"pintle/rig/rule"
)

// A page gathers lines no wider than its columns, as far as words allow.
type page struct {
	strings.Builder
	columns int
}

func newPage(o Options) *page {
	if o.Columns <= 0 {
		o.Columns = 80
	}
	return &page{columns: max(o.Columns, 40)}
}

func (p *page) line(s string) {
	p.WriteString(strings.TrimRight(s, " "))
	p.WriteByte('\n')
}

// entry writes a verdict, a name in a column of the given width, and a text that
// goes on underneath itself. On a narrow page the text goes under the name.
func (p *page) entry(v rule.Verdict, name string, width int, text string) {
	name = clean(name)
	head := pad(v.String(), verdictColumn)
	indent := verdictColumn + width
	if utf8.RuneCountInString(name) > width-2 || p.columns-indent < 30 {
		p.line(head + name)
		p.wrapped("", verdictColumn+2, text)
		return
	}
	p.wrapped(head+pad(name, width), indent, text)
}

// wrapped writes a text after a head, going on at the indent.
func (p *page) wrapped(head string, indent int, text string) {
	hang := strings.Repeat(" ", indent)
	if head == "" {
		head = hang
	}
	p.WriteString(fold.Text(head, hang, fold.Figures(clean(text)), p.columns))
}

func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// clean takes out what could move a terminal's cursor.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < ' ' || r >= 0x7f && r < 0xa0:
			return -1
		}
		return r
	}, s)
}
