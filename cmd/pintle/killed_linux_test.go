package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"pintle/drivers/pi/vm/guest"
	"pintle/reports/logbook"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// aStart is the shortest trial that drives the motor: it is over, and its supply off,
// once the controller has answered.
const aStart = `title: Starts opening
why: It is performed over and over while its process is killed.
group: convenience
hazard: The way stays barred.
start: closed
script:
  - press: remote
  - await: motor opening
    within: claim start delay * 4
  - wait: 100ms
rules:
  - bounded response: remote is pressed
    then: motor moving
    within: claim start delay * 4
`

// The command on a real kernel's lines is killed at any instant of a run, it and its hands
// in turn. Each time the supply falls within the time stated here and rises no more, and
// the logbook is whole: every trial that was told as kept is there, with its trace. KILLS
// of each.
func TestGuestKilledRuns(t *testing.T) {
	guest.Only(t)
	const most, usual = 3 * time.Second, 700 * time.Millisecond // on an emulated machine
	n := 2
	if asked, err := strconv.Atoi(os.Getenv("KILLS")); err == nil {
		n = asked
	}
	k := &realKiller{t: t, random: rand.New(rand.NewPCG(4, 2)), log: filepath.Join(t.TempDir(), "log.db"), program: filepath.Join(t.TempDir(), "pintle")}
	k.witness, k.dir = world(t)
	require.NoError(t, os.WriteFile(filepath.Join(k.dir, "scenarios", "a-start.yaml"), []byte(aStart), 0o644))
	require.NoError(t, os.Symlink(os.Args[0], k.program))
	var worst time.Duration
	kept, driven, late := 0, 0, 0
	for i, alone := 0, 0; i < 2*n; i++ {
		took, on, told, killed := k.kill(i%2 == 1, i+alone)
		if !killed { // hands that do not get to run for so long count as hung
			i, alone = i-1, alone+1
			require.LessOrEqual(t, alone, 2+n, "runs end by themselves")
			continue
		}
		require.LessOrEqual(t, took, most)
		if took > usual { // the emulated machine stood still just then
			late++
		}
		worst, kept = max(worst, took), kept+told
		if on {
			driven++
		}
	}
	require.LessOrEqual(t, late, 1+n/10, "supplies that fell late")
	require.NotZero(t, kept, "no run was killed after it had kept a trial")
	t.Logf("%d commands and %d hands killed, %d times with the supply on, off after %v at worst; %d trials told as kept, all there",
		n, n, driven, worst.Round(time.Millisecond), kept)
}

type realKiller struct {
	t                 *testing.T
	random            *rand.Rand
	witness           *guest.Witness
	dir, log, program string
}

// A realRun is one that was started to be killed.
type realRun struct {
	cmd        *exec.Cmd
	said, errs bytes.Buffer
	ended      chan struct{} // all that it said is there
}

// start performs a run until some trials have begun. It is false of one that ended before.
func (k *realKiller) start(seed int) (r *realRun, on bool) {
	k.t.Helper()
	r = &realRun{ended: make(chan struct{})}
	r.cmd = exec.Command(k.program, "run", k.dir, "a-start", "--trials", "1000", "--seed", fmt.Sprint(seed), "--json", "--logbook", k.log)
	r.cmd.Stderr = &r.errs
	out, err := r.cmd.StdoutPipe()
	require.NoError(k.t, err)
	require.NoError(k.t, r.cmd.Start())
	reader := bufio.NewReader(io.TeeReader(out, &r.said))
	for until := 1 + k.random.IntN(3); until > 0; {
		line, err := reader.ReadString('\n')
		if err != nil {
			return r, false
		}
		if strings.HasPrefix(line, `{"event":"trial begins"`) {
			until--
		}
	}
	go func() { _, _ = io.Copy(io.Discard, reader); close(r.ended) }()
	return r, true
}

// stop ends what is left of it.
func (r *realRun) stop() { _ = r.cmd.Process.Kill(); _ = r.cmd.Wait() }

// kill kills a run, or its hands, and looks at what is left. It gives how long the supply
// took to fall, whether it was on, how many trials had been told as kept, and whether it
// was killed and did not end before.
func (k *realKiller) kill(hands bool, i int) (took time.Duration, on bool, told int, killed bool) {
	k.t.Helper()
	k.witness.Forget()
	r, on := k.start(i + 1)
	defer r.stop()
	if !on {
		return 0, false, 0, false
	}
	time.Sleep(time.Duration(k.random.Int64N(int64(4 * time.Second))))
	victim := r.cmd.Process.Pid
	if hands {
		victim = k.hands(victim)
	}
	if victim == 0 {
		<-r.ended // without hands it does not go on
	}
	select {
	case <-r.ended:
		return 0, false, 0, false
	default:
	}
	at := mono()
	require.NoError(k.t, unix.Kill(victim, unix.SIGKILL))
	<-r.ended
	_ = r.cmd.Wait()
	time.Sleep(800 * time.Millisecond) // whoever is left has let go of the lines by then
	for end := time.Now().Add(10 * time.Second); k.on() && time.Now().Before(end); {
		time.Sleep(50 * time.Millisecond)
	}
	took, on = fell(k.t, k.witness, at)
	return took, on, k.kept(r.said.Bytes()), true
}

// on says that the supply is, as the kernel's trace has it.
func (k *realKiller) on() (on bool) {
	for _, e := range k.witness.Edges() {
		if e.Line == supplyLine {
			on = e.Direction == "" && e.High
		}
	}
	return on
}

func mono() int64 {
	var ts unix.Timespec
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts)
	return ts.Nano()
}

// hands are the run's only child, or 0.
func (k *realKiller) hands(of int) int {
	all, err := filepath.Glob("/proc/[0-9]*/stat")
	require.NoError(k.t, err)
	var children []int
	for _, file := range all {
		text, _ := os.ReadFile(file) // one that is gone has none
		_, rest, _ := strings.Cut(string(text), ") ")
		var state string
		var pid, parent int
		_, _ = fmt.Sscan(string(text), &pid)
		if _, err := fmt.Sscan(rest, &state, &parent); err == nil && parent == of {
			children = append(children, pid)
		}
	}
	if len(children) != 1 {
		return 0
	}
	return children[0]
}

// fell gives how long after an instant the supply fell, zero where it was off already,
// and whether it was on. It wants the supply to stay off, and no line but the heartbeat to
// move after that, unless to where it rests.
func fell(t *testing.T, witness *guest.Witness, at int64) (took time.Duration, on bool) {
	t.Helper()
	high, down := false, false
	for _, e := range witness.Edges() {
		up := e.Direction == "" && e.High
		switch {
		case e.Line != supplyLine && e.Line != firstPin+slices.Index(piLines, signal.Heartbeat):
			require.False(t, down && up, "line %d moves after the supply fell", e.Line)
		case e.Line != supplyLine:
		case e.At <= at:
			high, on = up, up
		default:
			require.False(t, up && (down || !on), "the supply rises")
			if high && !up {
				took, down = time.Duration(e.At-at), true
			}
			high = up
		}
	}
	require.False(t, high, "the supply is on")
	require.Equal(t, on, down, "the supply was on, and fell")
	return took, on
}

// kept wants the logbook whole, with each trial that was told as kept, and gives how
// many there are.
func (k *realKiller) kept(out []byte) int {
	id, kept, _ := heard(k.t, out)
	log, err := logbook.Open(k.log)
	require.NoError(k.t, err)
	defer log.Close()
	require.NoError(k.t, log.Check())
	if len(kept) == 0 {
		return 0
	}
	run, err := log.Run(id)
	require.NoError(k.t, err)
	require.Equal(k.t, rule.Void, run.Verdict)
	for _, e := range kept {
		s, n, err := find(run, fmt.Sprintf("%s/%d", e.Scenario, e.Trial))
		require.NoError(k.t, err)
		require.Equal(k.t, e.Verdict, s.Trials[n].Verdict.String())
		trace, err := log.Trace(id, e.Scenario, e.Trial)
		require.NoError(k.t, err)
		require.Len(k.t, trace.Samples, s.Trials[n].Samples)
	}
	return len(kept)
}
