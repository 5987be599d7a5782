package fitness

import (
	"fmt"
	"io"
	"strings"
	"time"

	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// columns is the width of a terminal that everybody has.
const columns = 80

// Text writes the report in sentences, no line longer than 80 columns unless a word
// is: what passed in short, what is open and what failed in full, each with its advice,
// and last, where whoever waited for it looks first, the whole.
func (r *Report) Text(w io.Writer) error {
	var b strings.Builder
	for _, part := range []struct {
		title string
		short bool
		has   func(rule.Verdict) bool
	}{
		{"What passed", true, func(v rule.Verdict) bool { return v == rule.Pass }},
		{"What could not be told", false, func(v rule.Verdict) bool { return v != rule.Fail && v != rule.Pass }},
		{"What failed", false, func(v rule.Verdict) bool { return v == rule.Fail }},
	} {
		r.list(&b, part.title, part.short, part.has)
	}
	r.Measured.text(&b)
	r.closing(&b)
	_, err := io.WriteString(w, strings.TrimPrefix(b.String(), "\n"))
	return err
}

// closing tells the whole, and what may be done with the bench now.
func (r *Report) closing(b *strings.Builder) {
	name := r.Bench
	if name == "" {
		name = "without a name"
	}
	b.WriteString("\n")
	wrap(b, 0, fmt.Sprintf("Check of the bench %s: %s.", name, r.Verdict))
	wrap(b, 0, r.counts()+" "+r.setting())
	if r.Aborted != "" {
		wrap(b, 0, "The check ended early: "+r.Aborted+".")
	}
	switch {
	case r.Refuses() != nil:
		wrap(b, 0, "No run is made on this bench until that is mended and it has been checked again.")
	case r.Verdict == rule.Inconclusive:
		wrap(b, 0, "Runs are made on this bench all the same: nothing failed.")
	}
}

// counts says how many parts came to what.
func (r *Report) counts() string {
	passed, failed := 0, len(r.Failed())
	for _, p := range r.Results {
		if p.Verdict == rule.Pass {
			passed++
		}
	}
	return fmt.Sprintf("Of %s %d passed, %d could not be told, %d failed.", wording.Count(len(r.Results), "part"), passed, len(r.Results)-passed-failed, failed)
}

func (r *Report) setting() string {
	s := fmt.Sprintf("It took %s by the bench's clock", wording.Time(time.Duration(r.Took).Round(time.Second)))
	if !r.Date.IsZero() {
		s += ", on " + r.Date.Format("2 January 2006 at 15:04 MST")
	}
	s += "."
	if r.Virtual {
		s += " The bench is virtual: this says nothing of any hardware."
	}
	return s
}

func (r *Report) list(b *strings.Builder, title string, short bool, has func(rule.Verdict) bool) {
	var shown []Result
	for _, p := range r.Results {
		if !has(p.Verdict) {
			continue
		}
		// Lines of which the same is to be said are said together.
		if n := len(shown); n > 0 && alike(shown[n-1], p) {
			shown[n-1].Name += ", " + strings.TrimPrefix(p.Name, "line ")
			continue
		}
		shown = append(shown, p)
	}
	if len(shown) > 0 {
		fmt.Fprintf(b, "\n%s\n", title)
	}
	for _, p := range shown {
		p.head(b)
		if !short {
			p.text(b)
		}
	}
}

func alike(a, b Result) bool {
	return strings.HasPrefix(a.Name, "line") && strings.HasPrefix(b.Name, "line ") && len(a.Figures)+len(b.Figures) == 0 &&
		a.Verdict == b.Verdict && a.Reason == b.Reason && a.Done == b.Done && a.Advice == b.Advice
}

func (p Result) head(b *strings.Builder) {
	wrap(b, 2, wording.Upper(p.Name)+": "+p.Verdict.String()+". "+p.Reason)
}

func (p Result) text(b *strings.Builder) {
	wrap(b, 4, p.Done)
	for _, f := range []string{sentence("Measured", p.Figures), sentence("Limit", p.Limits)} {
		if f != "" {
			wrap(b, 4, f)
		}
	}
	if p.Advice != "" {
		wrap(b, 4, "What to do: "+p.Advice)
	}
}

func sentence(what string, figures []Figure) string {
	var parts []string
	for _, f := range figures {
		parts = append(parts, f.Name+" "+f.String())
	}
	if len(parts) == 0 {
		return ""
	}
	return what + ": " + strings.Join(parts, ", ") + "."
}

// String is the figure in a unit that reads well, with its doubt.
func (f Figure) String() string {
	s := f.Unit.words(f.Value)
	if f.Doubt != 0 {
		s += " give or take " + f.Unit.words(f.Doubt)
	}
	return s
}

func (u Unit) words(v int64) string {
	switch u {
	case Nanoseconds:
		return exactly(time.Duration(v))
	case Microamps:
		return signal.Current(v).String()
	}
	return fmt.Sprint(v)
}

// exactly words a time to at least five digits, so that an interval can be told from
// the one that was stated.
func exactly(d time.Duration) string {
	unit := time.Duration(1)
	for unit*100_000 <= d.Abs() {
		unit *= 10
	}
	return wording.Time(d.Round(unit))
}

// Words tells what was measured, a clause each.
func (m Measured) Words() (told []string) {
	say := func(format string, args ...any) { told = append(told, fmt.Sprintf(format, args...)) }
	if m.Latency != nil {
		say("the meter's latency is %s to %s", took(m.Latency.Least), took(m.Latency.Most))
	}
	if m.Interval != nil {
		say("the meter's interval is %s", exactly(*m.Interval))
	}
	if m.Noise != nil {
		say("the meter's noise is at most %v", *m.Noise)
	}
	if m.Zero != nil {
		say("the meter reads %v of no current", *m.Zero)
	}
	if m.Late != nil {
		say("the latest edge was late by %s", took(*m.Late))
	}
	if m.Drop != nil {
		say("the supply's relay takes %s to %s", took(m.Drop.Least), took(m.Drop.Most))
	}
	return told
}

func (m Measured) text(b *strings.Builder) {
	told := m.Words()
	if len(told) == 0 {
		return
	}
	b.WriteString("\nWhat may stand in place of what the bench states\n")
	wrap(b, 2, wording.Upper(strings.Join(told, "; "))+".")
}

// wrap writes a paragraph, its further lines two columns further in.
func wrap(b *strings.Builder, indent int, text string) {
	head := strings.Repeat(" ", indent)
	b.WriteString(fold.Text(head, head+"  ", text, columns))
}
