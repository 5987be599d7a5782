package derive

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pintle/rig/fold"
)

// cautions stand at the end of every sheet.
var cautions = []string{
	"These figures are worked out from what was given, and are no better than that. Measure the gate before you trust them, and try every cut-out on the gate itself.",
	"They do not say that a gate is safe, or that it complies with any standard or law. A figure whose source is a regulation is quoted from it and no more.",
	"Local codes, and the judgement of whoever is licensed to put up and maintain gates where this one stands, come before anything on this sheet.",
	"Nothing here replaces protection against entrapment: edges, beams, limits of force, and a way to free somebody by hand.",
}

const narrowest = 40

// Cautions are what whoever uses the proposals must be told with them.
func Cautions() []string { return slices.Clone(cautions) }

// Sheet writes the proposals with their reasoning, after what of the gate they rest on, no
// line wider than width characters where that is at least 40. Signs that the reader's
// terminal lacks are spelled out by spell before lines are folded; nil spells none out.
func Sheet(out io.Writer, width int, g Given, ps []Proposal, spell func(string) string) error {
	if spell == nil {
		spell = func(text string) string { return text }
	}
	s := &sheet{width: max(width, narrowest), spell: spell}
	s.basis(Basis(g, ps))
	for _, p := range ps {
		s.proposal(p)
	}
	if len(ps) == 0 {
		s.wrap("", "", "Nothing was given from which a claim could be worked out.")
		s.gap()
	}
	s.wrap("", "", "Before you use these figures")
	for _, c := range cautions {
		s.wrap("  - ", "    ", c)
	}
	if _, err := io.WriteString(out, s.String()); err != nil {
		return fmt.Errorf("write the sheet of claims: %w", err)
	}
	return nil
}

type sheet struct {
	strings.Builder
	width int
	spell func(string) string
}

func (s *sheet) gap() { s.WriteString("\n") }

// wrap writes text after first, its further lines after next.
func (s *sheet) wrap(first, next, text string) {
	s.WriteString(fold.Text(first, next, glue(s.spell(text)), s.width))
}

// glue keeps a figure and its unit on one line.
func glue(text string) string {
	words := strings.Split(text, " ")
	for i := 1; i < len(words); i++ {
		if figure(words[i-1]) && unit(words[i]) {
			words[i] = words[i-1] + fold.NoBreak + words[i]
			words[i-1] = ""
		}
	}
	return strings.Join(words, " ")
}

func figure(w string) bool {
	w = strings.TrimLeft(w, "(√")
	return w != "" && w[0] >= '0' && w[0] <= '9'
}

func unit(w string) bool {
	switch strings.TrimRight(strings.TrimSuffix(w, "^2"), ".,:;)²") {
	case "°C", "degC", "s", "us", "ohm", "mohm", "ms", "µs", "A", "V", "K", "Ω", "mΩ", "m", "mm", "m/s", "%", "%/s", "mH", "N", "Nm", "kg", "kgm", "rad":
		return true
	}
	return false
}

func (s *sheet) basis(steps []Step) {
	if len(steps) == 0 {
		return
	}
	s.wrap("", "", "What the figures rest on")
	for _, st := range steps {
		s.step(st)
	}
	s.gap()
}

func (s *sheet) step(st Step) {
	s.wrap("  ", "  ", st.Text)
	if st.Formula == st.Result && st.Result != "" {
		s.wrap("      ", "        ", st.Result)
	} else if st.Formula != "" {
		s.wrap("      ", "        ", st.Formula+" = "+st.Result)
	}
}

func (s *sheet) proposal(p Proposal) {
	head := p.Range()
	if p.Conflict == "" {
		head += ", proposed " + p.Unit.Text(p.Proposed)
	}
	s.wrap("", "    ", strings.ToUpper(p.Name())+": "+head)
	for _, st := range p.Steps {
		s.step(st)
	}
	if p.Conflict != "" {
		s.wrap("  ", "  ", "NO SOUND VALUE: "+p.Conflict+".")
		s.remedies(p.Remedies)
	}
	for _, n := range p.Notes {
		s.wrap("  Note: ", "    ", n)
	}
	if len(p.Missing) > 0 {
		s.wrap("  Not given: ", "    ", strings.Join(p.Missing, "; ")+".")
	}
	s.wrap("  From: ", "    ", from(p.Sources)+".")
	s.gap()
}

// from joins the sources, and those that are nothing but custom at the end.
func from(sources []string) string {
	const custom = ": common practice, no source"
	var named, customs []string
	for _, source := range sources {
		if what, ok := strings.CutSuffix(source, custom); ok {
			customs = append(customs, what)
		} else {
			named = append(named, source)
		}
	}
	if len(customs) > 0 {
		named = append(named, and(customs)+custom)
	}
	return strings.Join(named, "; ")
}

func (s *sheet) remedies(all []Remedy) {
	for _, heading := range []struct {
		text   string
		advice bool
	}{{"Any one of these mends it:", false}, {"Worth a thought:", true}} {
		text := heading.text
		for _, r := range all {
			if r.Advice != heading.advice {
				continue
			}
			if text != "" {
				s.wrap("  ", "  ", text)
				text = ""
			}
			s.wrap("    - ", "      ", r.Text)
		}
	}
}
