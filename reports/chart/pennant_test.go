package chart

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func at(row int, lo, hi float64) pennant { return pennant{x: lo, row: row, lo: lo, hi: hi} }

func TestRowOfAMark(t *testing.T) {
	for _, c := range []struct {
		name   string
		others []pennant
		f      pennant
		row    int
	}{
		{"the first", nil, at(0, 10, 20), 0},
		{"beside another", []pennant{at(0, 10, 20)}, at(0, 21, 30), 0},
		{"one unit too near", []pennant{at(0, 10, 20)}, at(0, 20.5, 30), 1},
		{"not through a text below", []pennant{at(0, 10, 20), at(1, 12, 40)}, at(0, 30, 50), 2},
		{"past its end", []pennant{at(0, 10, 20), at(1, 12, 40)}, at(0, 41, 50), 0},
		{"not under a stroke", []pennant{at(0, 10, 20), at(1, 12, 40)}, pennant{x: 60, lo: 45, hi: 60}, 0},
		{"at the same instant", []pennant{at(0, 10, 20)}, at(0, 10, 30), 1},
		{"rather struck than lost", []pennant{at(4, 10, 50)}, at(0, 30, 40), 0},
		{"no room at all", []pennant{at(0, 0, 9), at(1, 0, 9), at(2, 0, 9), at(3, 0, 9), at(4, 0, 9)}, at(0, 5, 7), -1},
	} {
		assert.Equal(t, c.row, rowFor(c.f, c.others, 1, true), c.name)
	}
}

func TestNoTwoTextsOfMarksMeet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var marks []pennant
		x := 0.0
		for range rapid.IntRange(1, 12).Draw(t, "marks") {
			x += rapid.Float64Range(0, 60).Draw(t, "step")
			f := at(0, x, x+rapid.Float64Range(5, 200).Draw(t, "wide"))
			f.row = rowFor(f, marks, 2, rapid.Bool().Draw(t, "strokes"))
			for _, q := range marks {
				if f.row >= 0 && q.row == f.row && f.lo < q.hi && q.lo < f.hi {
					t.Fatalf("%+v meets %+v", f, q)
				}
			}
			marks = append(marks, f)
		}
	})
}
