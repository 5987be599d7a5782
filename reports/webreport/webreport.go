package webreport

import (
	"bufio"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"

	"pintle/reports"
	"pintle/rig/fold"
	"pintle/rig/rule"
)

// Options say what else goes into a page.
type Options struct {
	Excerpt string       // what the run is an excerpt of; empty: it is whole
	Whole   *reports.Run // the run that the record's digest is of; nil: the one that is written
}

//go:embed page.html
var pageText string

var page = template.Must(template.New("page").Funcs(template.FuncMap{"verdict": chip, "held": fold.Figures}).Parse(pageText))

// Write writes the page of a run. Traces may be nil: then the page says that there
// are no charts.
func Write(w io.Writer, run *reports.Run, traces reports.TraceSource, o Options) error {
	v, err := newView(run, traces, o)
	if err != nil {
		return fmt.Errorf("run %s: page: %w", run.ID, err)
	}
	out := bufio.NewWriterSize(w, 1<<16)
	if err := page.Execute(out, v); err != nil {
		return fmt.Errorf("run %s: page: %w", run.ID, err)
	}
	return out.Flush()
}

// policy forbids everything but the page's own style, known by its digest.
func policy(css string) string {
	sum := sha256.Sum256([]byte(css))
	return "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'"
}

// chip is a verdict as a word in a frame; the frame's kind differs as well.
func chip(v rule.Verdict) template.HTML {
	class := "unsettled"
	if v <= rule.Void {
		class = v.String()
	}
	return template.HTML(`<span class="verdict ` + class + `">` + v.String() + `</span>`)
}
