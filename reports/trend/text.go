package trend

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"pintle/rig/fold"
	"pintle/rig/rule"
)

// figure writes a value of a rule in the unit that suits the one with which it is.
func figure(like rule.Finding, value int64) string {
	return rule.Finding{Unit: like.Unit, Measured: true, Value: rule.Interval{Least: value, Most: value}, Limit: like.Limit, Sense: like.Sense}.ValueText()
}

// limit is the limit of a point with its side, such as at most 150 ms.
func (p *Point) limit() string { return p.worst.LimitText() }

// heading says which rule it is.
func (s *Series) heading() string { return fmt.Sprintf("%s/%d  %s", s.Scenario, s.Number, s.about()) }

func (s *Series) about() string {
	text := s.Rule
	if limit, same := s.oneLimit(); same && limit != "" {
		text += ", " + limit
	}
	return text
}

// oneLimit is the limit of all points that have one, if it is the same.
func (s *Series) oneLimit() (string, bool) {
	one := ""
	for i := range s.Points {
		if p := &s.Points[i]; p.Measured > 0 {
			if one != "" && p.limit() != one {
				return "", false
			}
			one = p.limit()
		}
	}
	return one, true
}

// easy is how many columns are easy to read.
const easy = 80

// Text writes a table for each rule, in lines of so many columns at most, as far as words
// allow. Where they leave no room for a table each run has a sentence instead.
func (t *Trend) Text(w io.Writer, columns int) error {
	var b strings.Builder
	for i := range t.Series {
		s := &t.Series[i]
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(fold.Text(fmt.Sprintf("%s/%d  ", s.Scenario, s.Number), "  ", fold.Figures(s.about()), min(columns, easy)))
		s.table(&b, columns)
		if c := s.conclusion(); c != "" {
			b.WriteString(fold.Text("  ", "    ", fold.Figures(c), min(columns, easy)))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// leftBound are the columns that are words; the others are figures.
var leftBound = map[string]bool{"run": true, "date": true, "firmware": true, "limit": true, "verdict": true}

func (s *Series) table(b *strings.Builder, columns int) {
	_, same := s.oneLimit()
	head := []string{"run", "date", "firmware", "n", "median", "worst", "limit", "margin", "verdict"}
	if same {
		head = append(head[:6:6], head[7:]...)
	}
	rows := [][]string{head}
	for i := range s.Points {
		rows = append(rows, s.Points[i].cells(same, s.measured()))
	}
	if s.datedNames() {
		for i := range rows {
			rows[i] = slices.Delete(rows[i], 1, 2)
		}
		head = rows[0]
	}
	wide, total := widths(rows)
	if total > columns {
		sentences(b, rows, columns)
		return
	}
	for _, row := range rows {
		line := " "
		for i, cell := range row {
			gap := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(cell))
			if leftBound[head[i]] {
				line += " " + cell + gap
			} else {
				line += " " + gap + cell
			}
			if i < len(row)-1 {
				line += " "
			}
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

// widths are how wide the columns of a table are, and all of it with the gaps.
func widths(rows [][]string) (wide []int, total int) {
	wide = make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			wide[i] = max(wide[i], utf8.RuneCountInString(cell))
		}
	}
	for _, w := range wide {
		total += 2 + w
	}
	return wide, total
}

// sentences tell of each run what stands in a table's row, by the names of its columns.
func sentences(b *strings.Builder, rows [][]string, columns int) {
	for _, row := range rows[1:] {
		var told []string
		for i, cell := range row[1:] {
			if what := rows[0][i+1]; what != "verdict" {
				cell = what + " " + cell
			}
			told = append(told, fold.Held(cell))
		}
		b.WriteString(fold.Text("  ", "    ", row[0]+": "+strings.Join(told, ", "), min(columns, easy)))
	}
}

// datedNames says that each run's name begins with its date, which need not be told twice.
func (s *Series) datedNames() bool {
	return !slices.ContainsFunc(s.Points, func(p Point) bool { return !strings.HasPrefix(p.Run, p.Began.UTC().Format("20060102-")) })
}

// cells are a point's row of the table. A rule that measures nothing tells how many
// trials there were.
func (p *Point) cells(oneLimit, measures bool) []string {
	n := p.Measured
	if !measures {
		n = p.Trials
	}
	median, worst, limit, margin := "-", "-", "-", "-"
	if p.Measured > 0 {
		median, worst, limit, margin = figure(p.worst, p.Median), figure(p.worst, p.Worst), p.limit(), p.worst.MarginText()
	}
	row := []string{p.Run, p.Began.Format("2006-01-02"), p.name(), fmt.Sprint(n), median, worst}
	if !oneLimit {
		row = append(row, limit)
	}
	return append(row, margin, p.Said)
}

// name is what to call the build: the firmware's name, or the beginning of its digest.
func (p *Point) name() string {
	switch {
	case p.Firmware != "":
		return p.Firmware
	case len(p.Digest) >= 8:
		return p.Digest[:8]
	}
	return "-"
}

// conclusion says how the margin went from the first measured run to the last.
func (s *Series) conclusion() string {
	var told []*Point
	least := 0
	for i := range s.Points {
		if p := &s.Points[i]; p.Measured > 0 {
			if told = append(told, p); p.Margin < told[least].Margin {
				least = len(told) - 1
			}
		}
	}
	if len(told) < 2 || s.unit == rule.Times {
		return ""
	}
	first, last := told[0], told[len(told)-1]
	return fmt.Sprintf("margin: %s in the first, %s in the last, least %s (run %s)",
		first.worst.MarginText(), last.worst.MarginText(), told[least].worst.MarginText(), told[least].Run)
}
