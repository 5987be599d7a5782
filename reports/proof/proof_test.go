package proof

import (
	"bytes"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/rule"
)

// of makes a proof from rows of letters, such as "X.X"; each scenario takes as
// many seconds as its number.
func of(sound string, rows ...string) *Proof {
	verdict := map[rune]rule.Verdict{'.': rule.Pass, 'X': rule.Fail, '?': rule.Inconclusive, '!': rule.Void, ' ': rule.Unsettled}
	p := &Proof{}
	for i, c := range sound {
		p.Scenarios = append(p.Scenarios, Scenario{Name: fmt.Sprintf("scenario-%d", i+1), Took: time.Duration(i+1) * time.Second})
		p.Sound = append(p.Sound, Cell{Verdict: verdict[c]})
	}
	for i, row := range rows {
		r := Row{Name: fmt.Sprintf("defect %d", i+1), Means: "is wrong"}
		for _, c := range row {
			r.Cells = append(r.Cells, Cell{Verdict: verdict[c]})
		}
		p.Rows = append(p.Rows, r)
	}
	return p
}

func TestHolds(t *testing.T) {
	for _, c := range []struct {
		name  string
		proof *Proof
		want  bool
	}{
		{"all caught", of("...", "X..", "..X"), true},
		{"one escapes", of("...", "X..", "..."), false},
		{"inconclusive and void catch nothing", of("...", "X..", "?!."), false},
		{"not performed catches nothing", of("...", "X..", "   "), false},
		{"the sound one fails", of(".X.", "X..", "..X"), false},
		{"the sound one is inconclusive", of(".?.", "X..", "..X"), false},
		{"the sound one was not performed", of(". .", "X..", "..X"), false},
		{"no defects", of("..."), false},
		{"nothing", &Proof{}, false},
	} {
		assert.Equal(t, c.want, c.proof.Holds(), c.name)
	}
}

func TestCheapestAndOnly(t *testing.T) {
	p := of("....", ".XX.", "...X", "X..X")
	got, ok := p.Cheapest(0)
	assert.True(t, ok)
	assert.Equal(t, 1, got)
	assert.Equal(t, []int{1}, p.Only(3), "defect 3 is caught by scenario 1 as well")
	assert.Empty(t, p.Only(0))
	p.Scenarios[1].Took = time.Hour
	got, _ = p.Cheapest(0)
	assert.Equal(t, 2, got)
	_, ok = of(".", ".").Cheapest(0)
	assert.False(t, ok)
}

func TestShortest(t *testing.T) {
	for _, c := range []struct {
		name string
		rows []string
		want []int
	}{
		{"one catches all", []string{"XX..", "X.X.", "X..X"}, []int{0}},
		// The largest first, as a greedy choice would have it, needs three.
		{"not the greedy choice", []string{"XX..", "XX..", "X.X.", "X.X.", ".X..", "..X."}, []int{1, 2}},
		{"the least time among the smallest", []string{"XX..", "XX.."}, []int{0}},
		{"what escapes does not matter", []string{"....", "..X."}, []int{2}},
		{"nothing caught", []string{"...."}, nil},
	} {
		got := of("....", c.rows...).Shortest()
		assert.Equal(t, c.want, got.Scenarios, c.name)
		assert.True(t, got.Smallest, c.name)
	}
}

// The branch and bound is held against trying every set.
func TestShortestIsSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scenarios := rapid.IntRange(1, 9).Draw(t, "scenarios")
		letter := rapid.SampledFrom([]rune("X..."))
		var rows []string
		for range rapid.IntRange(1, 12).Draw(t, "rows") {
			rows = append(rows, string(rapid.SliceOfN(letter, scenarios, scenarios).Draw(t, "row")))
		}
		sound := "........."[:scenarios]
		p := of(sound, rows...)
		got := p.Shortest()
		count, took := scenarios+1, time.Duration(0)
		for mask := range 1 << scenarios {
			n, d := 0, time.Duration(0)
			for i := range scenarios {
				if mask>>i&1 == 1 {
					n, d = n+1, d+p.Scenarios[i].Took
				}
			}
			if covers(p, mask) && (n < count || n == count && d < took) {
				count, took = n, d
			}
		}
		require.Len(t, got.Scenarios, count)
		require.Equal(t, took, got.Took)
	})
}

func covers(p *Proof, mask int) bool {
	for i := range p.Rows {
		by := p.Rows[i].By()
		caught := len(by) == 0
		for _, s := range by {
			caught = caught || mask>>s&1 == 1
		}
		if !caught {
			return false
		}
	}
	return true
}

func TestPrint(t *testing.T) {
	p := of("...?", "X...", ".X. ", "....")
	p.Sound[3].Reason = "it could not be told"
	p.Rows[1].Pair = true
	var b bytes.Buffer
	require.NoError(t, p.Print(&b, 80))
	assert.Contains(t, b.String(), "defect 1           X...\n")
	assert.Contains(t, b.String(), "      scenario-1, 1 s\n")
	assert.Contains(t, b.String(), "      only: defect 2\n")
	assert.Contains(t, b.String(), "the sound controller does not pass scenario-4: inconclusive: it could not be told\n")
	assert.Contains(t, b.String(), "no scenario catches: defect 3\n      is wrong\n")
	assert.Contains(t, b.String(), "1 of 2 defects caught, and 1 of 1 pairs (66.67 %)\nthe sound controller passes 3 of 4 scenarios\n")
	b.Reset()
	require.NoError(t, p.PrintShortest(&b))
	assert.Equal(t, "scenario-1\nscenario-2\n\n2 of 4 scenarios catch the same defects in 3 s of 10 s bench time;\nno smaller set does\n", b.String())
}

// No line of the matrix is wider than was asked for, as long as one group of ten
// fits at all.
func TestTheMatrixFits(t *testing.T) {
	wide := ""
	for range 57 {
		wide += "."
	}
	p := of(wide, wide, wide)
	var b bytes.Buffer
	require.NoError(t, p.Print(&b, 50))
	matrix, _, _ := bytes.Cut(b.Bytes(), []byte("X fail"))
	for _, line := range bytes.Split(matrix, []byte("\n")) {
		assert.LessOrEqual(t, len(line), 50, string(line))
	}
	assert.Contains(t, b.String(), "scenarios 41 to 57")
}

func TestAFailedWriteIsTold(t *testing.T) {
	full := errors.New("the disk is full")
	assert.ErrorIs(t, of(".", "X").Print(failing{full}, 80), full)
	assert.ErrorIs(t, of(".", "X").PrintShortest(failing{full}), full)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }
