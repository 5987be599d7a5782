package hands

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"pintle/drivers/meter"
	"pintle/rig/signal"
)

// A talker is a meter that fills a line of 921 600 baud: ten bytes a reading, ten bits a
// byte, 9216 readings a second.
const perSecond = 9216

func talk(t testing.TB, seconds int) (h *Hands, said <-chan int) {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	c := none()
	c.Meter = &meter.Config{Port: slave.Name(), Protocol: "text", Baud: 921600, Interval: time.Second / perSecond, Most: 2 * time.Second, // the talker is no meter: it is late when the machine is busy

		Resolution: 1000, Range: 60 * signal.Ampere, Silence: 5 * time.Second}
	h = start(t, c)
	t.Cleanup(func() { slave.Close(); master.Close() })
	total := make(chan int, 1)
	go func() {
		n, began := 0, h.Now()
		for end := began + int64(seconds)*int64(time.Second); h.Now() < end; pause(time.Millisecond) {
			var text []byte
			for due := int((h.Now() - began) * perSecond / int64(time.Second)); n < due; n++ {
				text = fmt.Appendf(text, "%08.5fA\n", float64(n%30_000)/1000)
			}
			if _, err := master.Write(text); err != nil {
				break
			}
		}
		total <- n
	}()
	return h, total
}

// cpu is the processor time that a process has used.
func cpu(t testing.TB, pid int) time.Duration {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	require.NoError(t, err)
	f := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
	user, err := strconv.Atoi(f[11])
	require.NoError(t, err)
	system, err := strconv.Atoi(f[12])
	require.NoError(t, err)
	return time.Duration(user+system) * 10 * time.Millisecond // USER_HZ is 100 everywhere
}

// hear takes all readings until the talker has said the last, and there have been none
// for a while. It gives how many were said and how many came.
func hear(t testing.TB, h *Hands, said <-chan int) (all, came int) {
	over, quiet := false, int64(0)
	var note Note
	for !over || h.Now() < quiet {
		h.Beat()
		for h.Sample(&note) {
			came++
			quiet = h.Now() + int64(300*time.Millisecond)
		}
		select {
		case all = <-said:
			over, quiet = true, h.Now()+int64(time.Second)
		default:
			pause(time.Millisecond)
		}
	}
	if n := len(h.Notices()); n > 0 {
		t.Logf("%d notices, the first %+v", n, <-h.Notices())
	}
	lost, _ := h.Lost(0)
	require.Zero(t, lost)
	return all, came
}

// A full line is kept up with: every reading comes through, but for the first, of which
// the beginning may have been missed.
func TestAFullSerialLineIsKeptUpWith(t *testing.T) {
	h, said := talk(t, 1)
	all, came := hear(t, h, said)
	require.Equal(t, all-1, came)
}

// BenchmarkSerial tells what a full line costs of one core, beside hands without a
// meter, and whether anything was lost. SECONDS sets for how long; 10 if it is not set.
//
//	SECONDS=600 go test ./drivers/pi/hands -run xxx -bench Serial -benchtime 1x -timeout 20m
func BenchmarkSerial(b *testing.B) {
	seconds := 10
	if n, err := strconv.Atoi(os.Getenv("SECONDS")); err == nil {
		seconds = n
	}
	for b.Loop() {
		alone := start(b, none())
		before := cpu(b, alone.PID())
		pause(5 * time.Second)
		idle := float64(cpu(b, alone.PID())-before) / float64(5*time.Second)
		h, said := talk(b, seconds)
		before = cpu(b, h.PID())
		all, heard := hear(b, h, said)
		used := float64(cpu(b, h.PID())-before) / float64(time.Duration(seconds)*time.Second)
		b.ReportMetric(float64(all-1-heard), "lost")
		b.ReportMetric(float64(heard)/float64(seconds), "readings/s")
		b.ReportMetric(100*(used-idle), "%-of-a-core")
		b.ReportMetric(100*idle, "%-without-meter")
	}
}
