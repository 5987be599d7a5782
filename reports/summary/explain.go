package summary

import (
	"io"

	"pintle/reports/diagnosis"
)

// Explain tells what happened, by a diagnosis of each finding that is not a pass: the
// first in full, of the others one line each.
func Explain(w io.Writer, all []diagnosis.Diagnosis, o Options) error {
	p := newPage(o)
	for i, d := range all {
		if i > 0 {
			p.wrapped(pad("also", verdictColumn), verdictColumn, d.Headline+" ("+d.Verdict.String()+": "+d.Rule+")")
			continue
		}
		p.wrapped(pad("explained", verdictColumn), verdictColumn, d.Headline)
		for _, s := range d.Sentences {
			p.wrapped("", verdictColumn, s)
		}
		for j, look := range d.LookAt {
			head := ""
			if j == 0 {
				head = pad("look at", verdictColumn)
			}
			p.wrapped(head, verdictColumn, "- "+look)
		}
	}
	_, err := io.WriteString(w, p.String())
	return err
}
