package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"pintle/drivers/meter/speak"
	"pintle/drivers/pi/vm"
	"pintle/drivers/pi/vm/guest"
	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios/demo"
)

// The whole way, on a real kernel's lines: the command in real time, its hands, a
// controller that reads and drives the chip, a meter on a real serial port, and a
// certificate at the end.
func TestInTheVirtualMachine(t *testing.T) {
	if os.Getenv("PINTLE_QUIET") != "1" {
		t.Skip("keeps real time in an emulated machine, and needs one that does nothing else: PINTLE_QUIET=1 go test ./cmd/pintle -run VirtualMachine")
	}
	tests := "^TestGuest"
	if p := os.Getenv("PINTLE_GUEST_TESTS"); p != "" {
		tests = p
	}
	o := vm.Options{CPUs: 2, MiB: 768, UARTs: true, Timeout: 15 * time.Minute}
	if kills, err := strconv.Atoi(os.Getenv("KILLS")); err == nil {
		o.Env, o.Timeout = []string{"KILLS=" + strconv.Itoa(kills)}, o.Timeout+time.Duration(kills)*time.Minute
	}
	r := o.Tests(t, "pintle/cmd/pintle", tests)
	t.Log(r.Output)
}

func init() { asOther = play }

// piLines are the lines of the job in the guest, in the order of their pins from
// GPIO2 on.
var piLines = []signal.Line{signal.Remote, signal.OpenLimit, signal.ClosedLimit, signal.Beam, signal.Supply, signal.StallLoad, signal.Heartbeat}

const (
	firstPin   = 2
	supplyLine = firstPin + 4
)

const piBench = `title: The slipway barrier on real lines
bench: pi
chip: boatyard
late: 100ms
lines:
%s
meter:
  kind: serial
  serial: {port: /dev/ttyS1, protocol: text, baud: 115200}
  interval: 50ms
  least delay: 0ms
  most delay: 200ms
  resolution: 10mA
  noise: 20mA
  range: 65A
motor:
  runs above: 1.5A
  stops below: 1A
  settle: 20ms
decision:   # an emulated machine stands still at times: its meter cannot tell more
  rule: simple acceptance
guard:
  most current: 58A
  longest drive: 25s
  meter silence: 2s
settle: 1500ms
virtual:
  controller:
    loop: 10ms
    keeps: 60 %%
`

// piJob writes the job folder.
func piJob(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"gate.yaml", "controller.yaml"} {
		text, err := fs.ReadFile(demo.Folder(), name)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
	}
	var lines strings.Builder
	for n, l := range piLines {
		fmt.Fprintf(&lines, "  %v: {pin: GPIO%d}\n", l, firstPin+n)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "bench.yaml"), fmt.Appendf(nil, piBench, lines.String()), 0o644))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "scenarios"), 0o755))
	return dir
}

const playEnv = "PINTLE_TEST_CONTROLLER"

// play is a controller and its motor on the other end of the wires, in a process of
// their own: it reads the chip's lines, and speaks the motor's current on the other
// serial port.
func play() {
	dir, chip, asked := strings.Cut(os.Getenv(playEnv), ";")
	if !asked {
		return
	}
	if err := playOn(dir, chip); err != nil {
		fmt.Fprintln(os.Stderr, "the controller:", err)
	}
	os.Exit(1)
}

func playOn(dir, chip string) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	config := virtualConfig(job)
	config.Meter.Latency, config.Meter.Spread, config.Meter.Jitter = 0, 0, 0
	inner, err := virtual.New(config, 1)
	if err != nil {
		return err
	}
	c := meterConfig(job)
	c.Port = "/dev/ttyS2"
	say, _, err := speak.Open(c.Port, c)
	if err != nil {
		return err
	}
	values := make([]*os.File, len(piLines)-1)
	for n := range values {
		found, _ := filepath.Glob(fmt.Sprintf("/sys/devices/platform/gpio-sim.*/%s/sim_gpio%d/value", chip, firstPin+n))
		if len(found) != 1 {
			return fmt.Errorf("line %d of %s: %v", firstPin+n, chip, found)
		}
		if values[n], err = os.Open(found[0]); err != nil {
			return err
		}
	}
	levels := make([]byte, len(values))
	for n := range levels {
		levels[n] = '0'
	}
	// A real controller is not kept waiting by the bench's computer.
	runtime.LockOSThread()
	debug.SetGCPercent(-1)
	attr := unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Priority: 50}
	if err := unix.SchedSetAttr(0, &attr, 0); err != nil {
		return err
	}
	fmt.Println("plays")
	began := time.Now()
	for tick := time.NewTicker(2 * time.Millisecond); ; <-tick.C {
		for n, f := range values {
			var b [1]byte
			if _, err := f.ReadAt(b[:], 0); err != nil {
				return err
			}
			if b[0] == levels[n] {
				continue
			}
			levels[n] = b[0]
			level := signal.Broken
			if b[0] == '1' {
				level = signal.Made
			}
			if err := inner.Plan(piLines[n], []signal.Edge{{At: inner.Now(), Level: level}}); err != nil {
				return err
			}
		}
		for now := signal.Instant(time.Since(began)); ; {
			o, err := inner.Next(now)
			if err != nil {
				return err
			}
			if o.Kind == rig.Reached {
				break
			}
			if o.Kind == rig.Sampled {
				if err := say(o.Sample); err != nil {
					return err
				}
			}
		}
	}
}

// A world is the chip, its witness, the job, and the controller's process.
func world(t *testing.T) (witness *guest.Witness, dir string) {
	t.Helper()
	names := make([]string, firstPin+len(piLines))
	for n := range names {
		names[n] = fmt.Sprintf("GPIO%d", n)
	}
	chip := guest.NewChip(t, "boatyard", names...)
	witness = guest.Watch(t, chip)
	dir = piJob(t)
	controller := exec.Command(os.Args[0])
	controller.Env = append(os.Environ(), playEnv+"="+dir+";"+chip.Name)
	controller.Stderr = os.Stderr
	said, err := controller.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, controller.Start())
	t.Cleanup(func() { _ = controller.Process.Kill(); _ = controller.Wait() })
	// An emulated machine takes seconds to start a program: without this the bench would
	// be up first, and its meter silent for longer than its guard bears.
	_, err = bufio.NewReader(said).ReadString('\n')
	require.NoError(t, err, "the controller does not play")
	return witness, dir
}

func TestGuestFullRun(t *testing.T) {
	guest.Only(t)
	witness, dir := world(t)
	var out, errs bytes.Buffer
	certificate := filepath.Join(dir, "certificate.pdf")
	status, before := statusVoid, 0
	for try := 0; try < 3 && status == statusVoid; try++ { // an emulated machine that stands still makes a trial void
		before = max(0, len(witness.Levels(supplyLine))-1)
		status = pintle(context.Background(), []string{"run", dir, "missed-closed-limit", "run-time-cut-out", "--certificate", certificate}, &out, &errs)
		t.Log(out.String(), errs.String())
	}
	require.Equal(t, statusPass, status)
	pdf, err := os.ReadFile(certificate)
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(pdf, []byte("%PDF-")))
	supply := slices.Compact(witness.Levels(supplyLine)[before:]) // being told to be off once more is no edge
	require.False(t, supply[0], "it begins with the supply off")
	require.False(t, supply[len(supply)-1], "and ends so")
	require.Len(t, supply, 5, "off, and on and off for each of two trials")
}

// The check of the bench on a real kernel's lines: each pin is read back, the supply falls,
// the guard trips, and what came of it is kept for the runs that follow. How late an
// emulated machine is says nothing of a bench.
func TestGuestBenchCheck(t *testing.T) {
	guest.Only(t)
	witness, dir := world(t)
	var bad []string
	for try := 0; try < 3 && (try == 0 || len(bad) > 0); try++ { // an emulated machine may have stood still
		var out, errs bytes.Buffer
		status := pintle(context.Background(), []string{"check", dir, "--bench", "--quick"}, &out, &errs)
		t.Log(status, out.String(), errs.String())
		bad = notPassed(t, dir, "line remote", "line open-limit", "line closed-limit", "line beam", "line stall-load", "guard", "supply relay")
	}
	require.Empty(t, bad)
	supply := witness.Levels(supplyLine)
	require.Contains(t, supply, true)
	require.False(t, supply[len(supply)-1], "the supply is off")
}

// notPassed are those of some parts of a folder's last check that did not pass.
func notPassed(t *testing.T, dir string, parts ...string) []string {
	r, err := lastCheck(dir)
	require.NoError(t, err)
	return slices.DeleteFunc(parts, func(part string) bool {
		result, ok := r.Result(part)
		return ok && result.Verdict == rule.Pass
	})
}

// A disk that fills up during a trial ends the run with that trial: the supply falls
// within the time stated here, the length of the trial with an emulated machine's delays,
// rises no more, and no other line moves from where it rests after it.
func TestGuestFullDisk(t *testing.T) {
	guest.Only(t)
	const most = 8 * time.Second
	witness, dir := world(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "scenarios", "a-start.yaml"), []byte(aStart), 0o644))
	disk := t.TempDir()
	require.NoError(t, unix.Mount("tmpfs", disk, "tmpfs", 0, "size=2m"))
	defer func() { _ = unix.Unmount(disk, unix.MNT_DETACH) }()
	filled := make(chan int64, 1)
	go func() { // once the supply is on
		for !slices.Contains(witness.Levels(supplyLine), true) {
			time.Sleep(20 * time.Millisecond)
		}
		f, err := os.Create(filepath.Join(disk, "filler"))
		for err == nil {
			_, err = f.Write(make([]byte, 4096))
		}
		filled <- mono()
	}()
	var out, errs bytes.Buffer
	status := pintle(context.Background(), []string{"run", dir, "a-start", "--trials", "20", "--log", filepath.Join(disk, "log.db")}, &out, &errs)
	t.Log(status, errs.String())
	require.NotEqual(t, statusPass, status)
	require.Regexp(t, "full|no space|space left", errs.String())
	took, on := fell(t, witness, <-filled)
	require.True(t, on, "the disk was full while the supply was on")
	require.LessOrEqual(t, took, most)
	t.Logf("the supply fell %v after the disk was full", took.Round(time.Millisecond))
}

// With nothing of what a real bench needs there, the call says all that is missing and how
// to get it, with the status of a bench that failed; so it does where it is there and not
// allowed.
func TestARealBenchThatIsNotThere(t *testing.T) {
	dir := piJob(t)
	text, err := os.ReadFile(filepath.Join(dir, "bench.yaml"))
	require.NoError(t, err)
	mine := filepath.Join(t.TempDir(), "port")
	require.NoError(t, os.WriteFile(mine, nil, 0o600))
	for _, c := range []struct {
		port, says string
		who        uint32
	}{
		{"/dev/no-such-meter", "is the meter plugged in?", 0},
		{mine, "sudo usermod -aG dialout $USER", 65534},
	} {
		if c.who != 0 && os.Getuid() != 0 {
			t.Log("not tried: what another user is not allowed takes root to try")
			continue
		}
		bench := bytes.Replace(text, []byte("chip: boatyard"), []byte("chip: no-such-chip"), 1)
		bench = bytes.Replace(bench, []byte("/dev/ttyS1"), []byte(c.port), 1)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "bench.yaml"), bench, 0o644))
		status, said := asUser(t, c.who, "run", dir, "normal-cycle")
		require.Equal(t, statusVoid, status, said)
		for _, want := range []string{"no-such-chip", "Raspberry Pi", c.port, c.says} {
			require.Contains(t, said, want)
		}
		require.NoFileExists(t, filepath.Join(dir, "certificate.pdf"))
	}
}

// asUser performs a call as another user, in a folder of its own.
func asUser(t *testing.T, id uint32, args ...string) (status int, said string) {
	t.Helper()
	home, err := os.MkdirTemp("", "pintle-user")
	require.NoError(t, err)
	defer os.RemoveAll(home)
	program := filepath.Join(home, "pintle")
	binary, err := os.ReadFile(os.Args[0]) // the one that go test made is not for others
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(program, binary, 0o755))
	require.NoError(t, os.Chmod(home, 0o777))
	for folder := args[1]; folder != os.TempDir() && folder != "/"; folder = filepath.Dir(folder) {
		require.NoError(t, os.Chmod(folder, 0o777))
	}
	cmd := exec.Command(program, append(args, "--log", filepath.Join(home, "log.db"))...)
	cmd.Dir, cmd.Env = home, append(os.Environ(), "HOME="+home, "XDG_CONFIG_HOME="+home)
	if id != 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: id, Gid: id}}
	}
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	require.ErrorAs(t, err, &exit, string(out))
	return exit.ExitCode(), string(out)
}

// A bench that failed its check judges nobody.
func TestABenchThatFailedItsCheckIsRefused(t *testing.T) {
	dir := piJob(t)
	failed := fitness.Report{Date: time.Now(), Verdict: rule.Fail, Results: []fitness.Result{{Name: "meter: latency", Verdict: rule.Fail}}}
	require.NoError(t, keepCheck(checkPath(dir), &failed))
	var out, errs bytes.Buffer
	require.Equal(t, statusVoid, pintle(context.Background(), []string{"run", dir, "normal-cycle"}, &out, &errs))
	require.Contains(t, errs.String(), "failed its check")
	require.Contains(t, errs.String(), "meter: latency")
	require.NoError(t, os.WriteFile(checkPath(dir), []byte("{"), 0o644))
	errs.Reset()
	require.Equal(t, statusUsage, pintle(context.Background(), []string{"run", dir, "normal-cycle"}, &out, &errs))
	require.Contains(t, errs.String(), "check the bench anew")
}
