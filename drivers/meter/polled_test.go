package meter

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

func TestPolledReadings(t *testing.T) {
	for _, protocol := range []string{"scpi", "modbus"} {
		bubble(t, config(protocol), func(m *Meter, p *pipe) {
			time.Sleep(500 * ms)
			samples, codes, texts := drainReadings(m)
			require.Emptyf(t, codes, "%q", texts)
			require.Len(t, samples, 10, "one each interval")
			for i, s := range samples {
				require.Equal(t, samples[0].Current+signal.Current(i*1000), s.Current)
				require.Equal(t, samples[0].To.Add(time.Duration(i)*50*ms), s.To, "in step with the interval")
			}
		})
	}
}

func TestIdentity(t *testing.T) {
	bubble(t, config("scpi"), func(m *Meter, p *pipe) {
		require.Equal(t, "PINTLE, SPEAKER, 0, 0", m.Identity())
		require.Equal(t, "PINTLE, SPEAKER, 0, 0", m.Facts().Says)
	})
	bubble(t, config("modbus"), func(m *Meter, p *pipe) {
		require.Equal(t, "Modbus unit 1, input register 0 as int16", m.Identity())
	})
	bubble(t, config("text"), func(m *Meter, p *pipe) {
		require.Equal(t, "plain text lines", m.Identity())
		require.Empty(t, m.Facts().Says, "such a meter says nothing of itself")
	})
}

// spoil bends the answers from now on, for a while; then all is well again.
func spoil(p *pipe, bend func([]byte) []byte, for_ time.Duration) {
	p.spoil.Store(&bend)
	time.Sleep(for_)
	p.spoil.Store(nil)
	time.Sleep(3 * time.Second)
}

func instead(s string) func([]byte) []byte { return func([]byte) []byte { return []byte(s) } }

// once bends the first answer only.
func once(bend func([]byte) []byte) func([]byte) []byte {
	done := false
	return func(b []byte) []byte {
		if done {
			return b
		}
		done = true
		return bend(b)
	}
}

func TestPolledTroubles(t *testing.T) {
	for _, c := range []struct {
		name, protocol string
		bend           func([]byte) []byte
		first          string // the trouble told first
	}{
		{"scpi mute", "scpi", instead(""), Silent},
		{"scpi infinity", "scpi", instead("9.9E37\n"), OverRange},
		{"scpi not a number", "scpi", instead("+9.91000000E+37\n"), NotANumber},
		{"scpi unit", "scpi", instead("1.5 V\n"), WrongUnit},
		{"scpi sign", "scpi", instead("+-1.5\n"), WrongSign},
		{"scpi garbage", "scpi", instead("err\n"), Garbage},
		{"scpi cut off", "scpi", instead("1.25"), PartialLine},
		{"scpi beyond the range", "scpi", instead("3.1E1\n"), OverRange},
		{"modbus mute", "modbus", instead(""), Silent},
		{"modbus check sum", "modbus", func(b []byte) []byte { b[3] ^= 1; return b }, BadCRC},
		{"modbus cut off", "modbus", func(b []byte) []byte { return b[:4] }, PartialLine},
		{"modbus exception", "modbus", func(b []byte) []byte { return appendCRC([]byte{1, 0x84, 4}) }, Exception},
		{"modbus another unit", "modbus", func(b []byte) []byte { b[0] = 2; return appendCRC(b[:5]) }, Garbage},
		{"modbus clipped", "modbus", func(b []byte) []byte { return appendCRC([]byte{1, 4, 2, 0x7F, 0xFF}) }, OverRange},
		{"modbus a byte too much", "modbus", func(b []byte) []byte { return append(b, 0) }, Garbage},
		{"modbus a byte before", "modbus", func(b []byte) []byte { return append([]byte{0}, b...) }, BadCRC},
	} {
		t.Run(c.name, func(t *testing.T) {
			bubble(t, config(c.protocol), func(m *Meter, p *pipe) {
				time.Sleep(120 * ms)
				before, codes, _ := drainReadings(m)
				require.Len(t, before, 2)
				require.Empty(t, codes)
				spoil(p, once(c.bend), 500*ms)
				after, codes, texts := drainReadings(m)
				require.NotEmpty(t, codes)
				require.Equalf(t, c.first, codes[0], "%q", texts)
				require.Len(t, codes, 1, "one wrong answer is one trouble: %q", texts)
				require.Greater(t, len(after), 40, "and then it goes on")
				for i := 1; i < len(after); i++ {
					require.Greater(t, after[i].Current, after[i-1].Current, "no answer is taken for that to another question")
				}
			})
		})
	}
}

// An answer that comes too late must not be taken for the answer to the next
// question: it would be an old current with a new span.
func TestLateAnswer(t *testing.T) {
	for _, protocol := range []string{"scpi", "modbus"} {
		t.Run(protocol, func(t *testing.T) {
			c := config(protocol)
			bubble(t, c, func(m *Meter, p *pipe) {
				time.Sleep(120 * ms)
				drainReadings(m)
				late := make(chan []byte, 1)
				bend := once(func(b []byte) []byte { late <- append([]byte(nil), b...); return nil })
				p.spoil.Store(&bend)
				answer := <-late
				time.Sleep(c.Filled().Silence + 5*ms)
				p.toNear <- answer
				time.Sleep(2 * time.Second)
				samples, codes, texts := drainReadings(m)
				require.Equalf(t, []string{Silent}, codes, "%q", texts)
				require.NotEmpty(t, samples)
				for _, s := range samples {
					require.Greater(t, s.Current, signal.Current(1_003_000), "the late answer has become a sample")
				}
			})
		})
	}
}

// What comes without a question is no answer either.
func TestUnasked(t *testing.T) {
	for protocol, said := range map[string]string{"scpi": "1.5\n", "modbus": string(appendCRC([]byte{1, 4, 2, 0, 100}))} {
		bubble(t, config(protocol), func(m *Meter, p *pipe) {
			time.Sleep(120 * ms)
			drainReadings(m)
			p.send(said)
			time.Sleep(ms)
			samples, codes, _ := drainReadings(m)
			require.Empty(t, samples, protocol)
			require.Equal(t, []string{Garbage}, codes, protocol)
		})
	}
}

// A meter with an error of its own tells it, and no reading is lost for it.
func TestErrorQueue(t *testing.T) {
	c := config("scpi")
	c.SCPI.ErrorEvery = 200 * ms
	bubble(t, c, func(m *Meter, p *pipe) {
		told := false
		bend := func(b []byte) []byte {
			if string(b) == "0,\"No error\"\n" && !told {
				told = true
				return []byte("-222,\"Data out of range\"\n")
			}
			return b
		}
		p.spoil.Store(&bend)
		time.Sleep(time.Second)
		samples, codes, texts := drainReadings(m)
		require.Equal(t, []string{ErrorQueue}, codes)
		require.Contains(t, texts[0], "-222 Data out of range")
		require.InDelta(t, 20, len(samples), 1)
	})
}

// A question that the meter does not know has no answer, and the error queue says
// why.
func TestUnknownQuestion(t *testing.T) {
	c := config("scpi")
	bubble(t, c, func(m *Meter, p *pipe) {
		undefined := false
		bend := func(b []byte) []byte {
			switch {
			case b[0] == '1': // a reading
				undefined = true
				return nil
			case undefined:
				undefined = false
				return []byte("-113,\"Undefined header\"\n")
			}
			return b
		}
		p.spoil.Store(&bend)
		time.Sleep(time.Second)
		samples, codes, texts := drainReadings(m)
		require.Empty(t, samples)
		require.Equal(t, []string{Silent, ErrorQueue}, codes[:2])
		require.Contains(t, texts[1], "-113 Undefined header")
	})
}

// A meter slower than its interval loses readings, and says so. One that is late
// once, within the doubt about its latency, loses none.
func TestTooSlowToAnswer(t *testing.T) {
	bubble(t, config("modbus"), func(m *Meter, p *pipe) {
		bend := func(b []byte) []byte { time.Sleep(120 * ms); return b }
		p.spoil.Store(&bend)
		time.Sleep(time.Second)
		_, codes, _ := drainReadings(m)
		require.Contains(t, codes, Lost)
	})
	// The next question is late by what the answer takes, less one interval; the
	// room is half an interval and the doubt, 45 ms.
	for delay, want := range map[time.Duration][]string{95 * ms: nil, 95*ms + 1: {Lost}} {
		bubble(t, config("modbus"), func(m *Meter, p *pipe) {
			bend := once(func(b []byte) []byte { time.Sleep(delay); return b })
			p.spoil.Store(&bend)
			time.Sleep(time.Second)
			samples, codes, _ := drainReadings(m)
			require.Equal(t, want, codes, "%v", delay)
			if want == nil {
				require.InDelta(t, 20, len(samples), 1, "and it catches up")
			}
		})
	}
}

func TestOpenFails(t *testing.T) {
	for _, c := range []struct {
		name, protocol string
		bend           func([]byte) []byte
		want           []string
	}{
		{"scpi mute", "scpi", instead(""), []string{"/dev/ttyBench", "scpi", "115200 baud", "*IDN?", "no answer"}},
		{"scpi another instrument", "scpi", instead("hello\n"), []string{"*IDN?", `"hello"`, "maker, model"}},
		{"scpi endless errors", "scpi", func(b []byte) []byte {
			if b[0] == 'P' {
				return b
			}
			return []byte("7,\"x\"\n")
		}, []string{"set-up", "7 x"}},
		{"modbus mute", "modbus", instead(""), []string{"/dev/ttyBench", "unit 1", "register 0", "no answer", "parity"}},
		{"modbus wrong register", "modbus", func([]byte) []byte { return appendCRC([]byte{1, 0x84, 2}) }, []string{"exception 2", "manual"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				p, begin := newPipe(), time.Now()
				p.spoil.Store(&c.bend)
				go answer(t, config(c.protocol), p)
				m, err := On(config(c.protocol), p, func() signal.Instant { return signal.Instant(time.Since(begin)) })
				require.Nil(t, m)
				for _, w := range c.want {
					require.ErrorContains(t, err, w)
				}
				<-p.closed // it lets go of the port
			})
		})
	}
}
