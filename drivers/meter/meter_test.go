package meter

import (
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// quiet collects what has come once every goroutine waits for time to pass.
func drainReadings(m *Meter) (samples []signal.Sample, codes, texts []string) {
	synctest.Wait()
	for {
		select {
		case r, ok := <-m.Readings():
			switch {
			case !ok:
				return samples, append(codes, "closed"), texts
			case r.Trouble != nil:
				codes, texts = append(codes, r.Trouble.Code), append(texts, r.Trouble.Text)
			default:
				samples = append(samples, r.Sample)
			}
		default:
			return samples, codes, texts
		}
	}
}

func TestSampleSpan(t *testing.T) {
	c := config("text")
	c.Least, c.Invert = 2*ms, true
	bubble(t, c, func(m *Meter, p *pipe) {
		p.send("7 A\r\n") // what comes before the first end of a line may be half a line
		time.Sleep(30 * ms)
		p.send("7.25")
		time.Sleep(1 * ms)
		p.send("1 A\r")
		samples, codes, _ := drainReadings(m)
		require.Empty(t, codes)
		// The last byte came at 31 ms: latency 2 to 5 ms, window 8 ms, wired inverted.
		require.Equal(t, []signal.Sample{{
			From: signal.Instant(18 * ms), To: signal.Instant(29 * ms), Current: -7_251_000,
		}}, samples)
	})
}

// stream sends lines to a text meter, one each interval, after a first line end.
func stream(p *pipe, lines ...string) {
	p.send("\n")
	for _, l := range lines {
		time.Sleep(10 * ms)
		p.send(l)
	}
}

func TestTextTroubles(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*Config)
		send  []string
		good  int // samples
		codes []string
	}{
		{"all well", nil, []string{"1 A\n", "2 A\r\n", "3 A\r"}, 3, nil},
		{"garbage", nil, []string{"1 A\n", "\x80\x81#!\n", "2 A\n"}, 2, []string{Garbage}},
		{"no unit", nil, []string{"1\n"}, 0, []string{WrongUnit}},
		{"volts", nil, []string{"1 V\n", "2 A\n"}, 1, []string{WrongUnit}},
		{"two signs", nil, []string{"--1 A\n"}, 0, []string{WrongSign}},
		{"overload", nil, []string{"OL\n", "1 A\n"}, 1, []string{OverRange}},
		{"range", nil, []string{"30 A\n", "30.000001 A\n", "-30.000001 A\n", "-30 A\n"}, 2, []string{OverRange, OverRange}},
		{"not a number", nil, []string{"NaN\n"}, 0, []string{NotANumber}},
		{"comments", nil, []string{"# hello\n", "\n\n", "1 A\n"}, 1, nil},
		{"two lines at once", nil, []string{"1 A\n2 A\n"}, 2, nil},
		{"a line without end", nil, []string{strings.Repeat("1", longestLine), "1 A\n", "2 A\n"}, 1, []string{Garbage}},
		{"stuck", func(c *Config) { c.Stuck = 3 }, []string{"1 A\n", "1 A\n", "1 A\n", "1 A\n", "1.001 A\n"}, 3, []string{Stuck, Stuck}},
		{"stuck at zero is standing still", func(c *Config) { c.Stuck = 2 }, []string{"0 A\n", "0 A\n", "-0 A\n"}, 3, nil},
		{"one less than stuck", func(c *Config) { c.Stuck = 3 }, []string{"1 A\n", "1 A\n", "2 A\n", "1 A\n", "1 A\n"}, 5, nil},
		{"a line lost, by the meter's clock", nil, []string{"1 ms 1 A\n", "11 ms 1 A\n", "31 ms 1 A\n", "41 ms 1 A\n"}, 3, []string{Lost}},
		{"the meter's clock goes back", nil, []string{"11 ms 1 A\n", "1 ms 1 A\n"}, 1, []string{WrongClock}},
		{"the meter's clock stands still", nil, []string{"11 ms 1 A\n", "11 ms 1 A\n"}, 1, []string{WrongClock}},
		{"another interval", nil, []string{"11 ms 1 A\n", "12 ms 1 A\n"}, 1, []string{WrongClock}},
		{"half an interval is near enough", nil, []string{"10 ms 1 A\n", "15 ms 1 A\n", "30 ms 1 A\n"}, 3, nil},
		{"just more than half an interval off", nil, []string{"10 ms 1 A\n", "25.000001 ms 1 A\n"}, 1, []string{Lost}},
	} {
		t.Run(c.name, func(t *testing.T) {
			conf := config("text")
			if c.set != nil {
				c.set(&conf)
			}
			bubble(t, conf, func(m *Meter, p *pipe) {
				stream(p, c.send...)
				samples, codes, texts := drainReadings(m)
				assert.Len(t, samples, c.good)
				assert.Equal(t, c.codes, codes, "%q", texts)
			})
		})
	}
}

// Without the meter's time a gap shows in the arrivals: more than one interval
// and a half, and the doubt about the latency.
func TestGapInArrivals(t *testing.T) {
	for gap, want := range map[time.Duration][]string{20 * ms: nil, 20*ms + 1: {Lost}} {
		bubble(t, config("text"), func(m *Meter, p *pipe) {
			stream(p, "1 A\n")
			time.Sleep(gap)
			p.send("2 A\n")
			_, codes, _ := drainReadings(m)
			require.Equal(t, want, codes, "%v", gap)
		})
	}
}

func TestSilence(t *testing.T) {
	c := config("text")
	c.Silence = 50 * ms
	bubble(t, c, func(m *Meter, p *pipe) {
		stream(p, "1 A\n")
		time.Sleep(50*ms - 1)
		_, codes, _ := drainReadings(m)
		require.Empty(t, codes, "one tick before the silence is too long")
		time.Sleep(1 * time.Nanosecond)
		_, codes, texts := drainReadings(m)
		require.Equal(t, []string{Silent}, codes)
		require.Contains(t, texts[0], "/dev/ttyBench")
		p.send("# comments are no readings\n")
		time.Sleep(50 * ms)
		_, codes, _ = drainReadings(m)
		require.Equal(t, []string{Silent}, codes)
		time.Sleep(400 * ms)
		_, codes, texts = drainReadings(m)
		require.Equal(t, []string{Silent, Silent}, codes, "the fourth and the eighth time")
		require.Contains(t, texts[1], "8 times")
		p.send("1 A\n")
		samples, _, _ := drainReadings(m)
		require.Len(t, samples, 1, "it goes on when the meter does")
	})
}

func TestPartialLine(t *testing.T) {
	c := config("text")
	c.Silence = 50 * ms
	bubble(t, c, func(m *Meter, p *pipe) {
		stream(p, "1 A\n", "12.5")
		time.Sleep(50 * ms)
		samples, codes, texts := drainReadings(m)
		require.Equal(t, []string{PartialLine}, codes)
		require.Contains(t, texts[0], `"12.5"`)
		require.Len(t, samples, 1)
		p.send("7 A\n") // the rest of that line, or not: nobody knows
		p.send("2 A\n")
		samples, codes, _ = drainReadings(m)
		require.Empty(t, codes)
		require.Equal(t, signal.Current(2_000_000), samples[0].Current)
		require.Len(t, samples, 1)
	})
}

func TestHungUp(t *testing.T) {
	bubble(t, config("text"), func(m *Meter, p *pipe) {
		stream(p, "1 A\n")
		close(p.toNear)
		samples, codes, texts := drainReadings(m)
		require.Len(t, samples, 1)
		require.Equal(t, []string{HungUp, "closed"}, codes)
		require.Contains(t, texts[0], "input/output error")
	})
}

// A reader who is too slow is told how much he missed; stamps stay true.
func TestSlowReader(t *testing.T) {
	c := config("text")
	c.Stuck = 0
	bubble(t, c, func(m *Meter, p *pipe) {
		p.send("\n")
		for i := range ahead + 10 {
			time.Sleep(10 * ms)
			p.send(fmt.Sprintf("%d mA\n", i))
		}
		samples, codes, _ := drainReadings(m)
		require.Len(t, samples, ahead)
		require.Empty(t, codes)
		time.Sleep(10 * ms)
		p.send("1 A\n")
		samples, codes, texts := drainReadings(m)
		require.Equal(t, []string{Lost}, codes)
		require.Contains(t, texts[0], "10 readings")
		require.Len(t, samples, 1)
	})
}

func TestCloseTwice(t *testing.T) {
	bubble(t, config("text"), func(m *Meter, p *pipe) {
		require.NoError(t, m.Close())
		require.NoError(t, m.Close())
		_, ok := <-m.Readings()
		require.False(t, ok, "one's own close is no trouble")
	})
}

// Every trouble in the table has words, and every name stands in the table once.
func TestTroublesTable(t *testing.T) {
	seen := map[string]bool{}
	for _, x := range Troubles {
		require.False(t, seen[x.Code], x.Code)
		seen[x.Code] = true
		require.True(t, strings.HasPrefix(x.Code, "meter-"), x.Code)
		require.NotEmpty(t, x.What, x.Code)
		require.NotEmpty(t, x.Do, x.Code)
	}
}
