package main

import (
	"fmt"
	"strings"
	"sync"
	"time"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// lanes are the strip of the trial under way, for a terminal beside a bench that keeps
// real time: a row for each line and one for the motor's current, time to the right.
type lanes struct {
	run   *reports.Run
	lines []signal.Line
	most  signal.Current // height of the current's row
	signs *laneSigns

	mu      sync.Mutex
	present rig.Beginning
	level   [signal.LineCount]signal.Level
	now     signal.Instant
	current signal.Current
	columns []column // the latest last
	settled [5]int   // rules, by verdict
}

// A column is what happened in one stretch of the strip.
type column struct {
	seen    [signal.LineCount]uint8 // bit 1: the line was broken, bit 2: made
	largest signal.Current          // magnitude
}

const (
	laneStretch = 250 * time.Millisecond
	laneColumns = 56 // and a name, within 80
	mostName    = 15
	leastName   = 7 // tells any line from the others that a bench is likely to have
	leastStrip  = 8
)

type laneSigns struct {
	broken, made, both string
	bars               []string // of the current, from nothing up
}

var (
	fineSigns  = laneSigns{"▁", "▔", "┃", []string{"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"}}
	plainSigns = laneSigns{"_", "^", "|", []string{"_", ".", ":", "-", "=", "+", "*", "#"}}
)

func newLanes(run *reports.Run, lines signal.LineSet, most signal.Current) *lanes {
	l := &lanes{run: run, most: max(most, 1), signs: &plainSigns, columns: []column{{}}}
	if unicode() {
		l.signs = &fineSigns
	}
	for line := range signal.LineCount {
		if lines.Has(signal.Line(line)) && signal.Line(line) != signal.Heartbeat {
			l.lines = append(l.lines, signal.Line(line))
		}
	}
	return l
}

// Begin clears the strip.
func (l *lanes) Begin(b rig.Beginning) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.present, l.now, l.columns, l.settled = b, 0, append(l.columns[:0], column{}), [5]int{}
}

// Rise is where the strip begins.
func (l *lanes) Rise(initial [signal.LineCount]signal.Level) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.level = initial
	l.mark()
}

// See takes in what the bench saw.
func (l *lanes) See(o *rig.Observation) {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch o.Kind {
	case rig.Sampled:
		l.advance(o.Sample.To)
		l.current = o.Sample.Current
		last := &l.columns[len(l.columns)-1]
		last.largest = max(last.largest, l.current.Abs())
	case rig.Emitted, rig.Sensed:
		l.advance(o.Span.Late)
		l.level[o.Line] = o.Level
		l.mark()
	}
}

// advance goes on to a new column where it is time for one.
func (l *lanes) advance(to signal.Instant) {
	for before := l.now / signal.Instant(laneStretch); before < to/signal.Instant(laneStretch); before++ {
		if l.columns = append(l.columns, column{}); len(l.columns) > laneColumns {
			l.columns = append(l.columns[:0], l.columns[1:]...)
		}
		l.mark()
	}
	l.now = max(l.now, to)
}

func (l *lanes) mark() {
	last := &l.columns[len(l.columns)-1]
	for _, line := range l.lines {
		bit := uint8(1)
		if l.level[line] == signal.Made {
			bit = 2
		}
		last.seen[line] |= bit
	}
}

// Settle counts.
func (l *lanes) Settle(_ int, v rule.Verdict, _ signal.Instant) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if int(v) < len(l.settled) {
		l.settled[v]++
	}
}

// End leaves the strip as it is, until the next trial.
func (l *lanes) End(*rig.Outcome) {}

// rows draws the strip for a terminal of so many columns. Where they are few the names are
// cut short and the earliest gives way, so that what is now is seen.
func (l *lanes) rows(columns int) []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	name := min(max(columns-20, leastName), mostName)
	shown := l.columns[max(0, len(l.columns)-max(columns-1-name-2, leastStrip)):]
	row := func(of string, sign func(column) string) string {
		var row strings.Builder
		for _, c := range shown {
			row.WriteString(sign(c))
		}
		return fmt.Sprintf("%*s  %s", name, clipped(of, name), row.String())
	}
	all := []string{l.head(columns)}
	for _, line := range l.lines {
		all = append(all, row(line.String(), func(c column) string { return l.signs.level(c.seen[line]) }))
	}
	bars := l.signs.bars
	return append(all, row("current", func(c column) string {
		return bars[min(int(int64(c.largest)*int64(len(bars))/int64(l.most)), len(bars)-1)]
	}))
}

// head tells the trial, where it is, and how its rules stand. Where that is too long the
// scenario's name is cut short, and not how many rules failed.
func (l *lanes) head(columns int) string {
	s := &l.run.Scenarios[l.present.Scenario]
	head := fmt.Sprintf(", trial %d of %d: %.1f s, %.1f A", max(1, l.present.Trial), max(1, l.present.Trials), time.Duration(l.now).Seconds(), l.current.Amperes())
	if n := l.settled[rule.Pass] + l.settled[rule.Fail] + l.settled[rule.Inconclusive]; n > 0 {
		head += fmt.Sprintf("; %d of %d rules settled, %d failed", n, len(s.Rules), l.settled[rule.Fail])
	}
	return clipped(clipped(s.Name, max(columns-1-len(head), leastName))+head, max(columns, 2)-1)
}

func (s *laneSigns) level(seen uint8) string {
	switch seen {
	case 1:
		return s.broken
	case 2:
		return s.made
	case 3:
		return s.both
	}
	return " "
}

// clipped shortens a text to so many characters.
func clipped(text string, most int) string {
	if r := []rune(text); len(r) > most {
		return string(r[:most])
	}
	return text
}
