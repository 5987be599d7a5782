package tracefile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"unicode/utf8"

	"pintle/rig/signal"
)

// A group is one row group, column by column. Optional columns have a level for
// each row and hold only the values that are there.
type group struct {
	rows int

	kindDict    []kind
	lineDict    []signal.Line
	currentDict []int64

	kinds                 []uint32 // indexes into kindDict
	early, width, current []int64
	lines                 []uint32 // indexes into lineDict
	made                  []bool
	texts                 []string
	numbers               []uint32 // indexes of the currents of one page

	hasLine, hasMade, hasCurrent, hasText []uint8
}

// reset empties the group and keeps its memory.
func (g *group) reset(rows int) {
	*g = group{
		rows:     rows,
		kindDict: g.kindDict[:0], lineDict: g.lineDict[:0], currentDict: g.currentDict[:0],
		kinds: g.kinds[:0], early: g.early[:0], width: g.width[:0], current: g.current[:0],
		lines: g.lines[:0], made: g.made[:0], texts: g.texts[:0], numbers: g.numbers[:0],
		hasLine: g.hasLine[:0], hasMade: g.hasMade[:0], hasCurrent: g.hasCurrent[:0], hasText: g.hasText[:0],
	}
}

// drop forgets the first n rows, all of them samples, and what is the same for all samples.
func (g *group) drop(n int) {
	g.kinds, g.hasLine, g.hasMade, g.hasCurrent, g.hasText = g.kinds[:0], g.hasLine[:0], g.hasMade[:0], g.hasCurrent[:0], g.hasText[:0]
	for _, x := range []*[]int64{&g.early, &g.width, &g.current} {
		*x = (*x)[:copy(*x, (*x)[n:])]
	}
}

// levels gives where a column's levels go, or nil where it has none.
func (g *group) levels(col int) *[]uint8 {
	switch col {
	case colLine:
		return &g.hasLine
	case colMade:
		return &g.hasMade
	case colCurrent:
		return &g.hasCurrent
	case colText:
		return &g.hasText
	}
	return nil
}

// dictionary takes in a dictionary of n entries.
func (g *group) dictionary(col int, b []byte, n int) error {
	switch col {
	case colKind:
		return names(b, n, "kind of row", func(name string) bool {
			k, ok := kindNamed(name)
			g.kindDict = append(g.kindDict, k)
			return ok
		})
	case colLine:
		return names(b, n, "line", func(name string) bool {
			l, ok := signal.LineNamed(name)
			g.lineDict = append(g.lineDict, l)
			return ok
		})
	case colCurrent:
		if len(b) != 8*n {
			return errBroken
		}
		for ; len(b) > 0; b = b[8:] {
			g.currentDict = append(g.currentDict, int64(binary.LittleEndian.Uint64(b)))
		}
		return nil
	}
	return errors.New("a dictionary has no place here")
}

// names takes n names one by one.
func names(b []byte, n int, what string, take func(string) bool) error {
	for range n {
		name, rest, err := decodeText(b)
		if err != nil {
			return err
		}
		if !take(name) {
			return fmt.Errorf("%q is no %s that is known; was the file written by a newer program?", name, what)
		}
		b = rest
	}
	if len(b) != 0 {
		return errLong
	}
	return nil
}

// indexed takes in n values by their numbers in the dictionary.
func (g *group) indexed(col int, b []byte, n int) (err error) {
	switch col {
	case colKind:
		g.kinds, err = decodeIndexes(g.kinds, b, n, len(g.kindDict))
	case colLine:
		g.lines, err = decodeIndexes(g.lines, b, n, len(g.lineDict))
	case colCurrent:
		if g.numbers, err = decodeIndexes(g.numbers[:0], b, n, len(g.currentDict)); err != nil {
			return err
		}
		at := len(g.current)
		g.current = extend(g.current, n)
		out, known := g.current[at:][:len(g.numbers)], g.currentDict // one look at the bounds
		for i, number := range g.numbers {
			out[i] = known[number]
		}
	default:
		err = errBroken
	}
	return err
}

// deltas takes in n integers.
func (g *group) deltas(col int, b []byte, n int) (err error) {
	switch col {
	case colEarly:
		g.early, err = decodeDeltas(g.early, b, n)
	case colWidth:
		g.width, err = decodeDeltas(g.width, b, n)
	default:
		g.current, err = decodeDeltas(g.current, b, n)
	}
	return err
}

// bits takes in n booleans.
func (g *group) bits(b []byte, n int) error {
	if len(b) != (n+7)/8 {
		return errBroken
	}
	for i := range n {
		g.made = append(g.made, b[i/8]>>(i%8)&1 == 1)
	}
	return nil
}

// plainTexts takes in n texts.
func (g *group) plainTexts(b []byte, n int) error {
	for range n {
		s, rest, err := decodeText(b)
		if err != nil {
			return err
		}
		if !utf8.ValidString(s) {
			return errors.New("a text is not UTF-8")
		}
		g.texts = append(g.texts, s)
		b = rest
	}
	if len(b) != 0 {
		return errLong
	}
	return nil
}
