package hands

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"pintle/drivers/pi/lines"
	"pintle/rig/signal"
)

// Hands is the conductor's side: a running process, and the desk.
type Hands struct {
	c       Config
	clock   clock
	desk    *desk
	cmd     *exec.Cmd
	stdin   io.WriteCloser
	Ready   Notice // what they said when they were ready
	notice  chan Notice
	ended   chan struct{} // the process is
	stop    chan struct{}
	tending sync.WaitGroup

	mu     sync.Mutex
	plans  [signal.LineCount]plan
	closed bool
	halted bool
	taken  *lines.Outputs // by the conductor, once the hands are gone
	dead   atomic.Bool
	off    atomic.Bool // taken is there

	heard   atomic.Uint64 // notices that have come
	dropped loss          // of them, those that found no room
}

// A plan is the whole future of a line, of which the desk has a window.
type plan struct {
	id    uint64
	edges []deskEdge
	laid  int // how many of them the hands have been given
}

const (
	tendEvery = 50 * time.Millisecond
	// patience is how long a request for safety is waited for. A turn of the hands takes
	// a millisecond.
	patience = 100 * time.Millisecond
	// starting is how long hands may take to be ready. Hands that fail are heard of at once;
	// those of a machine that is busy are waited for.
	starting = 20 * time.Second
)

// Start starts the hands: this program once more, which must call Main first of all.
func Start(c Config) (*Hands, error) {
	c = c.filled()
	if err := c.Check(); err != nil {
		return nil, fmt.Errorf("start the hands: %w", err)
	}
	d, fd, err := newDesk()
	if err != nil {
		return nil, fmt.Errorf("start the hands: %w", err)
	}
	h := &Hands{c: c, clock: newClock(), desk: d, notice: make(chan Notice, 256), ended: make(chan struct{}), stop: make(chan struct{})}
	h.desk.beat.Store(h.clock.now())
	if err := h.start(fd); err != nil {
		return nil, errors.Join(fmt.Errorf("start the hands: %w", err), d.unmap())
	}
	h.tending.Go(h.tend)
	return h, nil
}

func (h *Hands) start(fd int) error {
	desk := os.NewFile(uintptr(fd), "desk")
	defer desk.Close()
	// This very program, also where another has taken its place on the disk meanwhile.
	h.cmd = exec.Command("/proc/self/exe")
	h.cmd.Env = append(os.Environ(), env+"=1", "GODEBUG=asyncpreemptoff=1")
	h.cmd.ExtraFiles = []*os.File{desk}
	h.cmd.Stderr = os.Stderr
	// In a process group of their own, they do not get a Ctrl-C that is meant for the
	// conductor; where it dies without a word, the kernel tells them.
	h.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGTERM}
	var err error
	if h.stdin, err = h.cmd.StdinPipe(); err != nil {
		return err
	}
	out, err := h.cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := drowsily(h.cmd.Start); err != nil {
		return err
	}
	if err := json.NewEncoder(h.stdin).Encode(h.c); err != nil {
		return errors.Join(err, h.cmd.Process.Kill(), h.cmd.Wait())
	}
	go h.read(out)
	return h.await()
}

// read takes what the hands say, until they are gone.
func (h *Hands) read(out io.Reader) {
	s := bufio.NewScanner(out)
	for s.Scan() {
		var n Notice
		if json.Unmarshal(s.Bytes(), &n) != nil {
			n = Notice{Code: "hands-unclear", Text: "the hands said what is not understood: " + s.Text(), At: h.clock.now()}
		}
		h.hears(n)
	}
	_ = h.cmd.Wait()
	close(h.ended)
}

// await waits until the hands are ready.
func (h *Hands) await() error {
	late := time.NewTimer(starting)
	defer late.Stop()
	select {
	case n := <-h.notice:
		if n.Ready {
			h.Ready = n
			return nil
		}
		_ = h.cmd.Process.Kill() // they end by themselves, unless they say what they should not
		<-h.ended
		return errors.New(n.Error + n.Text)
	case <-h.ended:
		return fmt.Errorf("they ended at once: %v", h.cmd.ProcessState)
	case <-late.C:
		return errors.Join(fmt.Errorf("they were not ready after %v", starting), h.cmd.Process.Kill())
	}
}

// Beat is the conductor's sign of life. Whoever conducts gives it each time that it
// looks for something new, and nobody else does: a conductor that hangs is silent even
// where the rest of its process lives on.
func (h *Hands) Beat() { h.desk.beat.Store(h.clock.now()) }

// PID is the hands' process.
func (h *Hands) PID() int { return h.cmd.Process.Pid }

// tend lays out more of long plans, and looks after the hands.
func (h *Hands) tend() {
	tick := time.NewTicker(tendEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			h.extend()
			h.look()
		case <-h.ended:
			for !h.takeOver() { // the kernel may not have let go of the lines yet
				pause(time.Millisecond)
			}
			return
		case <-h.stop:
			return
		}
	}
}

// look takes over where the hands have died or hang.
func (h *Hands) look() {
	select {
	case <-h.ended:
	default:
		if h.clock.now()-h.desk.done.Load() < int64(h.c.Hang) {
			return
		}
	}
	h.takeOver()
}

// takeOver kills what is left of the hands, takes the lines, and so takes the supply
// off and releases the rest. It says whether there is nothing left to do.
func (h *Hands) takeOver() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || h.taken != nil {
		return true
	}
	h.dead.Store(true)
	_ = h.cmd.Process.Kill()
	select {
	case <-h.ended:
	case <-time.After(patience):
		return false // stuck in the kernel; it is tried again
	}
	chip, err := openChip(h.c)
	if err != nil {
		return errors.Is(err, lines.ErrNoGPIO)
	}
	defer chip.Close()
	taken, err := chip.Outputs("pintle", atRest(h.c.Outputs)...)
	if err != nil {
		return false
	}
	h.taken = taken
	h.off.Store(true)
	return true
}

// Now is the present instant on the hands' clock, CLOCK_MONOTONIC.
func (h *Hands) Now() int64 { return h.clock.now() }

// Done is the instant up to which the hands have done and laid down everything.
func (h *Hands) Done() int64 { return h.desk.done.Load() }

// Tripped says why the hands' guard took the supply off, and when.
func (h *Hands) Tripped() (Trip, int64) { return Trip(h.desk.tripped.Load()), h.desk.tripAt.Load() }

// Gone says that the hands are not there any more.
func (h *Hands) Gone() bool { return h.dead.Load() }

// Off says whether the lines of hands that are gone were taken over, and the supply off
// with them. It is false for as long as the kernel has not let go of the lines, which
// where the chip is gone as well is for good.
func (h *Hands) Off() bool { return h.off.Load() }

// Plan replaces the future of a line. Instants are of CLOCK_MONOTONIC. After a Halt
// nothing is planned any more.
func (h *Hands) Plan(l signal.Line, future []signal.Edge) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.halted {
		return
	}
	p := &h.plans[l]
	p.id++
	p.edges, p.laid = p.edges[:0], 0
	for i, e := range future {
		p.edges = append(p.edges, deskEdge{at: int64(e.At), number: uint32(i), made: number(e.Level == signal.Made)})
	}
	h.lay(l)
}

// lay lays out as much of a plan as the window holds, from the first edge that the
// hands may not have done on.
func (h *Hands) lay(l signal.Line) {
	p := &h.plans[l]
	done := h.desk.done.Load()
	from, _ := slices.BinarySearchFunc(p.edges, done, func(e deskEdge, at int64) int {
		if e.at < at {
			return -1
		}
		return 1
	})
	if p.laid == 0 {
		from = 0
	}
	to := min(len(p.edges), from+windowEdges)
	h.desk.windows[l].lay(p.id, p.edges[from:to])
	p.laid = to
}

// extend lays out more where half of what was laid is done.
func (h *Hands) extend() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.plans {
		p := &h.plans[l]
		if p.laid < len(p.edges) && p.edges[max(0, p.laid-windowEdges/2)].at < h.desk.done.Load() {
			h.lay(signal.Line(l))
		}
	}
}

// Safe takes the supply off, releases all lines and forgets every plan. It returns
// when that has happened.
func (h *Hands) Safe() error {
	h.mu.Lock()
	for l := range h.plans {
		p := &h.plans[l]
		p.id++
		p.edges, p.laid = p.edges[:0], 0
		h.desk.windows[l].lay(p.id, nil)
	}
	asked := h.desk.safeAsked.Add(1)
	h.mu.Unlock()
	for end := h.clock.now() + int64(patience); h.desk.safeDone.Load() < asked; pause(100 * time.Microsecond) {
		select {
		case <-h.ended:
			h.takeOver()
		default:
			if h.clock.now() > end {
				h.takeOver()
			}
		}
		if h.Gone() {
			return h.safeByOwnHand()
		}
		if h.isClosed() { // which made all safe
			return nil
		}
	}
	return nil
}

// Halt is Safe for anybody but the conductor, at any time: an operator's stop does not
// wait for a conductor that hangs. It is for good: what a conductor still plans who has
// not been told yet does not happen.
func (h *Hands) Halt() error {
	h.mu.Lock()
	closed := h.closed
	h.halted = true
	h.mu.Unlock()
	if closed {
		return nil
	}
	return h.Safe()
}

func (h *Hands) isClosed() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.closed
}

func (h *Hands) safeByOwnHand() error {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.taken != nil || h.closed {
		return nil
	}
	return errors.New("the hands are gone and their lines could not be taken: TAKE THE SUPPLY OFF BY HAND")
}

// Close makes the lines safe and ends the hands.
func (h *Hands) Close() error {
	h.mu.Lock()
	if h.closed {
		h.mu.Unlock()
		return nil
	}
	h.mu.Unlock()
	err := h.Safe()
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	close(h.stop)
	h.desk.quit.Store(1)
	err = errors.Join(err, ignoreGone(h.stdin.Close()))
	late := time.NewTimer(time.Second)
	defer late.Stop()
	select {
	case <-h.ended:
	case <-late.C:
		err = errors.Join(err, h.cmd.Process.Kill())
		<-h.ended
	}
	if h.taken != nil {
		err = errors.Join(err, h.taken.Close())
	}
	return err
}

func ignoreGone(err error) error {
	if errors.Is(err, os.ErrClosed) || errors.Is(err, syscall.EPIPE) {
		return nil
	}
	return err
}

// Wait waits a little for something new, and no longer than until the instant.
func (h *Hands) Wait(until signal.Instant) {
	left := time.Duration(int64(until) - h.clock.now())
	pause(max(50*time.Microsecond, min(left, 500*time.Microsecond)))
}

// Rest waits for a while, and then forgets what the meter has said so far. It gives
// what else there is to tell: that the meter is gone.
func (h *Hands) Rest(d time.Duration) error {
	pause(d)
	var n Note
	for h.Sample(&n) {
	}
	for {
		select {
		case said := <-h.notice:
			if said.Gone || said.Error != "" {
				return errors.New(said.Text + said.Error)
			}
		default:
			h.Beat()
			return nil
		}
	}
}
