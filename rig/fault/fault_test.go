package fault

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

const (
	line  = signal.ClosedLimit
	other = signal.OpenLimit
)

// timeline makes a line that begins at a level and changes at some instants.
func timeline(first signal.Level, at ...signal.Instant) signal.Timeline {
	t := signal.Timeline{Initial: first}
	for _, a := range at {
		first = first.Not()
		t.Edges = append(t.Edges, signal.Edge{At: a, Level: first})
	}
	return t
}

type lines = [signal.LineCount]signal.Timeline

func bend(clean signal.Timeline, seed uint64, faults ...Fault) signal.Timeline {
	var from, to lines
	from[line] = clean
	Bend(faults, seed, &from, &to)
	return to[line]
}

func TestBend(t *testing.T) {
	const broken, made = signal.Broken, signal.Made
	for _, c := range []struct {
		name  string
		fault Fault
		clean signal.Timeline
		want  signal.Timeline
	}{
		{"never makes", Fault{Kind: NeverMakes}, timeline(broken, 10, 20, 30), timeline(broken)},
		{"never makes, made at first", Fault{Kind: NeverMakes}, timeline(made, 10, 20), timeline(broken)},
		{"stuck made", Fault{Kind: StuckMade}, timeline(broken, 10, 20), timeline(made)},
		{"stuck made, an edge at the origin", Fault{Kind: StuckMade}, timeline(broken, 0, 20), timeline(made)},
		{"stuck broken", Fault{Kind: StuckBroken}, timeline(broken, 10, 20, 30, 40), timeline(broken, 10, 20)},
		{"stuck broken, made at first", Fault{Kind: StuckBroken}, timeline(made, 10, 20, 30), timeline(made, 10)},
		{"stuck broken, not broken yet", Fault{Kind: StuckBroken}, timeline(broken, 10), timeline(broken, 10)},
		{"late", Fault{Kind: Late, By: 5}, timeline(broken, 10, 11, 30), timeline(broken, 15, 16, 35)},
		{"early", Fault{Kind: Early, By: 5}, timeline(broken, 10, 11, 30), timeline(broken, 5, 6, 25)},
		{"early, up to the origin", Fault{Kind: Early, By: 9}, timeline(broken, 10, 11), timeline(broken, 1, 2)},
		{"early, past the origin", Fault{Kind: Early, By: 10}, timeline(broken, 10, 11), timeline(broken, 1, 2)},
		{"early, far past the origin", Fault{Kind: Early, By: 100}, timeline(made, 3, 11, 12, 150), timeline(made, 1, 2, 3, 50)},
		{"early, at the origin already", Fault{Kind: Early, By: 9}, timeline(broken, 0, 4), timeline(broken, 0, 1)},
		{"chatters", Fault{Kind: Chatter, Every: 10, Gap: 3}, timeline(broken, 100, 125), timeline(broken, 100, 107, 110, 117, 120, 125)},
		{"chatters, ends in a gap", Fault{Kind: Chatter, Every: 10, Gap: 3}, timeline(broken, 100, 118), timeline(broken, 100, 107, 110, 117)},
		{"chatters, ends as a gap begins", Fault{Kind: Chatter, Every: 10, Gap: 3}, timeline(broken, 100, 107), timeline(broken, 100, 107)},
		{"chatters, ends as a gap ends", Fault{Kind: Chatter, Every: 10, Gap: 3}, timeline(broken, 100, 110, 200, 205), timeline(broken, 100, 107, 200, 205)},
		{"chatters from the origin", Fault{Kind: Chatter, Every: 10, Gap: 1}, timeline(made, 15), timeline(made, 9, 10, 15)},
		{"drops out", Fault{Kind: Dropout, By: 10, For: 5}, timeline(broken, 100, 200), timeline(broken, 100, 110, 115, 200)},
		{"drops out each time", Fault{Kind: Dropout, By: 10, For: 5}, timeline(broken, 100, 150, 200), timeline(broken, 100, 110, 115, 150, 200, 210, 215)},
		{"drops out, breaks before", Fault{Kind: Dropout, By: 10, For: 5}, timeline(broken, 100, 109), timeline(broken, 100, 109)},
		{"drops out, breaks just then", Fault{Kind: Dropout, By: 10, For: 5}, timeline(broken, 100, 110), timeline(broken, 100, 110)},
		{"drops out, breaks meanwhile", Fault{Kind: Dropout, By: 10, For: 5}, timeline(broken, 100, 112, 113), timeline(broken, 100, 110, 113, 123, 128)},
		{"drops out, breaks as it ends", Fault{Kind: Dropout, By: 10, For: 5}, timeline(broken, 100, 115), timeline(broken, 100, 110)},
		{"drops out, made at first", Fault{Kind: Dropout, By: 10, For: 5}, timeline(made, 100), timeline(made, 10, 15, 100)},
		{"breaks late", Fault{Kind: BreaksLate, By: 5}, timeline(broken, 10, 20, 30, 40), timeline(broken, 10, 25, 30, 45)},
		{"breaks late, made just then", Fault{Kind: BreaksLate, By: 5}, timeline(made, 10, 15, 30), timeline(made, 35)},
		{"breaks late, made the tick after", Fault{Kind: BreaksLate, By: 5}, timeline(made, 10, 16, 30), timeline(made, 15, 16, 35)},
		{"breaks late, made before", Fault{Kind: BreaksLate, By: 5}, timeline(made, 10, 14, 15, 30), timeline(made, 20, 30)},
		{"breaks early", Fault{Kind: BreaksEarly, By: 5}, timeline(broken, 10, 20, 30, 40), timeline(broken, 10, 15, 30, 35)},
		{"breaks early, as it makes", Fault{Kind: BreaksEarly, By: 5}, timeline(broken, 10, 15, 30), timeline(broken, 10, 11, 30)},
		{"breaks early, after it makes", Fault{Kind: BreaksEarly, By: 5}, timeline(broken, 10, 16, 30), timeline(broken, 10, 11, 30)},
		{"breaks early, two after it makes", Fault{Kind: BreaksEarly, By: 5}, timeline(broken, 10, 17, 30), timeline(broken, 10, 12, 30)},
		{"breaks early, made at first", Fault{Kind: BreaksEarly, By: 5}, timeline(made, 3, 30), timeline(made, 1, 30)},
		{"breaks early, at the origin already", Fault{Kind: BreaksEarly, By: 5}, timeline(made, 0, 30), timeline(made, 0, 30)},
		{"pulses", Fault{Kind: Pulses, By: 5}, timeline(broken, 10, 20, 30), timeline(broken, 10, 15, 30, 35)},
		{"pulses, breaks before", Fault{Kind: Pulses, By: 5}, timeline(broken, 10, 14, 30, 35), timeline(broken, 10, 14, 30, 35)},
		{"pulses, made at first", Fault{Kind: Pulses, By: 5}, timeline(made, 20, 30), timeline(broken, 30, 35)},
		{"drifts", Fault{Kind: Drifts, By: 5}, timeline(broken, 10, 20, 30, 40, 50), timeline(broken, 10, 20, 35, 40, 60)},
		{"drifts, made at first", Fault{Kind: Drifts, By: 5}, timeline(made, 10, 20, 30, 40, 50), timeline(made, 10, 20, 30, 45, 50)},
		{"drifts, breaks as it would make", Fault{Kind: Drifts, By: 5}, timeline(broken, 10, 20, 30, 35, 50, 61), timeline(broken, 10, 20, 60, 61)},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.fault.Line = line
			require.NoError(t, c.fault.Check())
			require.NoError(t, c.clean.Check())
			got := bend(c.clean, 1, c.fault)
			assert.Equal(t, c.want.Initial, got.Initial)
			assert.ElementsMatch(t, c.want.Edges, got.Edges)
			assert.NoError(t, got.Check())
		})
	}
}

func TestSwapped(t *testing.T) {
	var clean, bent lines
	clean[line] = timeline(signal.Broken, 10)
	clean[other] = timeline(signal.Made, 5)
	clean[signal.Remote] = timeline(signal.Broken, 1, 2)
	Bend([]Fault{{Kind: Swapped, Line: line, Other: other}}, 1, &clean, &bent)
	assert.Equal(t, clean[line], bent[other])
	assert.Equal(t, clean[other], bent[line])
	assert.Equal(t, clean[signal.Remote], bent[signal.Remote], "a line without a fault is copied")

	// Faults apply in the order given.
	late := Fault{Kind: Late, Line: line, By: 3}
	swap := Fault{Kind: Swapped, Line: line, Other: other}
	Bend([]Fault{late, swap}, 1, &clean, &bent)
	assert.Equal(t, timeline(signal.Broken, 13), bent[other])
	Bend([]Fault{swap, late}, 1, &clean, &bent)
	assert.Equal(t, timeline(signal.Broken, 10), bent[other])
	assert.Equal(t, timeline(signal.Made, 8), bent[line])
}

func TestChatterEnds(t *testing.T) {
	got := bend(timeline(signal.Broken, 100), 1, Fault{Kind: Chatter, Line: line, Every: 10, Gap: 3})
	require.Len(t, got.Edges, 1+2*MostGaps)
	assert.Equal(t, signal.Edge{At: 100 + 10*MostGaps, Level: signal.Made}, got.Edges[2*MostGaps])
}

func TestCheck(t *testing.T) {
	for _, info := range Kinds {
		good := Fault{Kind: info.Kind, Line: line}
		set := func(f *Fault, figure Figures, to time.Duration) {
			switch figure {
			case By:
				f.By = to
			case For:
				f.For = to
			case Every:
				f.Every = 2 * to
			case Gap:
				f.Gap = to
			case Other:
				f.Other = signal.NoLine
				if to > 0 {
					f.Other = other
				}
			}
		}
		all := []Figures{By, For, Every, Gap, Other}
		for _, figure := range all {
			if info.Needs.Has(figure) {
				set(&good, figure, ShortestGlitch)
			}
		}
		assert.NoError(t, good.Check(), info.Name)
		for _, figure := range all {
			bad := good
			if info.Needs.Has(figure) {
				set(&bad, figure, 0)
			} else {
				set(&bad, figure, ShortestGlitch)
			}
			assert.ErrorContains(t, bad.Check(), figure.String()+":", "%v with the wrong %v", info.Name, figure)
		}
	}
	for _, c := range []struct {
		fault Fault
		says  []string
	}{
		{Fault{}, []string{"Kind: 0 is no kind of fault", "Line: line 0 is no line"}},
		{Fault{Kind: 99, Line: line}, []string{"Kind: 99"}},
		{Fault{Kind: NeverMakes, Line: signal.DriveOpen}, []string{"Line: drive-open is no line"}},
		{Fault{Kind: NeverMakes, Line: signal.Heartbeat}, []string{"Line: heartbeat is no line"}},
		{Fault{Kind: NeverMakes, Line: signal.LineCount}, []string{"Line: line 19 is no line"}},
		{Fault{Kind: Late, Line: line, By: -1}, []string{"By: -1ns must be above zero"}},
		{Fault{Kind: Late, Line: line, By: longest + 1}, []string{"By: 24h0m0.000000001s must be above zero and at most 24h"}},
		{Fault{Kind: Chatter, Line: line, Every: 5, Gap: 5}, []string{"Gap: 5ns must be shorter than Every, 5ns"}},
		{Fault{Kind: Glitches, Line: line, Every: 5000, Gap: 999}, []string{"Gap: 999ns must be at least 1µs"}},
		{Fault{Kind: Glitches, Line: line, Every: 5000, Gap: 5000}, []string{"Gap: 5µs must be shorter than Every, 5µs"}},
		{Fault{Kind: Swapped, Line: line, Other: line}, []string{"Other: closed-limit cannot be swapped with itself"}},
		{Fault{Kind: Dropout, Line: signal.NoLine, Every: 3}, []string{"Line:", "By:", "For:", "Every:"}},
	} {
		for _, says := range c.says {
			assert.ErrorContains(t, c.fault.Check(), says)
		}
	}
	assert.NoError(t, Fault{Kind: Late, Line: line, By: longest}.Check())
	assert.NoError(t, Fault{Kind: Chatter, Line: line, Every: 5, Gap: 4}.Check())
}

func TestKinds(t *testing.T) {
	for i, info := range Kinds {
		assert.EqualValues(t, i+1, info.Kind, "the table is in the order of the numbers")
		k, ok := KindNamed(info.Name)
		assert.True(t, ok)
		assert.Equal(t, info.Kind, k)
		assert.Equal(t, info.Name, k.String())
		assert.NotEmpty(t, info.Means)
		assert.Equal(t, info.Needs.Has(Other), info.bend == nil, "%s: Bend exchanges lines, and nothing else", info.Name)
		for mark, figure := range map[string]Figures{"{by}": By, "{for}": For, "{every}": Every, "{gap}": Gap, "{other}": Other} {
			assert.Equal(t, info.Needs.Has(figure), strings.Contains(info.Told, mark), "%s: %s", info.Name, info.Told)
		}
		assert.Contains(t, info.Told, "{line}")
		assert.Equal(t, info.Needs.Has(Gap), info.Filled != "", info.Name)
	}
	_, ok := KindNamed("melts")
	assert.False(t, ok)
	assert.Equal(t, "fault 200", Kind(200).String())
}

func TestString(t *testing.T) {
	const ms = time.Millisecond
	for want, f := range map[string]Fault{
		"closed-limit never makes":                                     {Kind: NeverMakes, Line: line},
		"closed-limit is stuck made":                                   {Kind: StuckMade, Line: line},
		"closed-limit is stuck broken once it has broken":              {Kind: StuckBroken, Line: line},
		"closed-limit comes 200ms late":                                {Kind: Late, Line: line, By: 200 * ms},
		"closed-limit comes 200ms early":                               {Kind: Early, Line: line, By: 200 * ms},
		"closed-limit bounces for up to 6.2ms":                         {Kind: Bounce, Line: line, For: 6200 * time.Microsecond},
		"closed-limit chatters while made, open for 2ms in every 20ms": {Kind: Chatter, Line: line, Every: 20 * ms, Gap: 2 * ms},
		"closed-limit drops out for 50ms, 100ms after it makes":        {Kind: Dropout, Line: line, By: 100 * ms, For: 50 * ms},
		"closed-limit is swapped with open-limit":                      {Kind: Swapped, Line: line, Other: other},
		"closed-limit breaks 200ms late":                               {Kind: BreaksLate, Line: line, By: 200 * ms},
		"closed-limit breaks 200ms early":                              {Kind: BreaksEarly, Line: line, By: 200 * ms},
		"closed-limit bounces on release for up to 6ms":                {Kind: BounceOff, Line: line, For: 6 * ms},
		"closed-limit pulses for 40ms where it should stay made":       {Kind: Pulses, Line: line, By: 40 * ms},
		"closed-limit glitches for up to 2ms in every 20ms":            {Kind: Glitches, Line: line, Every: 20 * ms, Gap: 2 * ms},
		"closed-limit drifts, making 2ms later each time":              {Kind: Drifts, Line: line, By: 2 * ms},
		"closed-limit has fault 77":                                    {Kind: 77, Line: line},
	} {
		assert.Equal(t, want, f.String())
	}
}

// The first outputs for the seed 1234567, as the generator's public test vector
// has them (from memory).
func TestRandomIsSplitmix64(t *testing.T) {
	r := random(1234567)
	for _, want := range []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821} {
		assert.Equal(t, want, r.next())
	}
}
