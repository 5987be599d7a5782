package hands

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"slices"
	"sync/atomic"
	"syscall"
	"time"

	"pintle/drivers/meter"
	"pintle/drivers/pi/lines"
	rigsignal "pintle/rig/signal"
)

// env marks a process as the hands. Whoever starts a program with it set and without
// the desk gets an error and nothing else.
const env = "PINTLE_HANDS"

const (
	deskFD  = 3 // in the child
	turn    = int64(time.Millisecond)
	linePri = 80
	readPri = 60

	// The threads of the lines and of the meter keep a processor each, in the sense of
	// the runtime, while they wait; whoever else has something to do needs one too.
	processors = 4
)

// Main is the whole life of the hands, if this process is them; otherwise it returns
// at once. A program that starts hands calls it first of all.
func Main() {
	if os.Getenv(env) == "" {
		return
	}
	os.Exit(live(os.Stdin, os.Stdout))
}

// live says what goes wrong and gives the exit status.
func live(in io.Reader, out io.Writer) int {
	h := &hand{clock: newClock(), say: json.NewEncoder(out)}
	if err := h.begin(in); err != nil {
		_ = h.say.Encode(Notice{Error: err.Error()})
		return 1
	}
	return h.work()
}

// A hand is the hands at work.
type hand struct {
	clock    clock
	say      *json.Encoder
	notices  chan Notice
	told     atomic.Uint64 // notices that have been passed on
	c        Config
	desk     *desk
	chip     *lines.Chip
	chipName string
	outputs  driver
	inputs   sensor
	meter    *meter.Meter

	laid     [rigsignal.LineCount]laid
	bits     [rigsignal.LineCount]uint64 // of the outputs, by line
	wires    [rigsignal.LineCount]Wire
	made     [rigsignal.LineCount]bool
	wired    []rigsignal.Line // outputs but the heartbeat
	supply   rigsignal.Line
	heart    uint64 // the heartbeat's bit, 0 where there is none
	beating  bool
	nextBeat int64
	safe     uint64 // safeAsked as last heeded
	leaving  atomic.Bool
	burst    burst
	line     note
	edge     lines.Edge // here, like line, so that no turn leaves garbage

	unplugged atomic.Bool // the meter is
}

// begin reads the configuration, maps the desk, takes the lines and opens the meter.
func (h *hand) begin(in io.Reader) error {
	r := bufio.NewReader(in)
	err := h.read(r)
	if err != nil {
		return err
	}
	if h.desk, err = mapDesk(deskFD); err != nil {
		return err
	}
	if h.desk.magic != deskMagic {
		return errors.New("the shared memory is not that of this program: start the hands by pintle itself")
	}
	h.notices = make(chan Notice, 256)
	h.watch(r)
	runtime.GOMAXPROCS(max(processors, runtime.NumCPU()))
	lost := settle()
	if err := h.take(); err != nil {
		return errors.Join(err, h.c.meterThere())
	}
	identity, says := "", ""
	if h.c.Meter != nil {
		refused := make(chan []string, 1)
		l := &listener{hand: h, watch: watchman{guard: h.c.Guard, since: rigsignal.Never}}
		h.desk.heard.Store(h.clock.now())
		h.meter, err = meter.OpenTo(*h.c.Meter, func() rigsignal.Instant { return rigsignal.Instant(h.clock.now()) },
			func() { runtime.LockOSThread(); refused <- urgent(readPri) }, l.take)
		if err != nil {
			return errors.Join(err, h.outputs.Close())
		}
		lost = append(lost, <-refused...)
		identity, says = h.meter.Identity(), h.meter.Facts().Says
	}
	h.burst.alone = runtime.NumCPU() == 1
	runtime.LockOSThread() // work goes on in this goroutine
	lost = append(lost, urgent(linePri)...)
	stepAside()
	slices.Sort(lost)
	lost = slices.Compact(lost)
	if err := h.say.Encode(Notice{Ready: true, Identity: identity, Says: says, Lost: lost, Chip: h.chipName}); err != nil {
		return err
	}
	go h.tell()
	return nil
}

// meterThere says what keeps the meter's port from being opened: whoever sets a bench up
// is told of all that is missing at once.
func (c Config) meterThere() error {
	if c.Meter == nil {
		return nil
	}
	port, err := meter.OpenPort(*c.Meter)
	if err != nil {
		return fmt.Errorf("meter %s: %w", c.Meter.Port, err)
	}
	return port.Close()
}

// read takes in the configuration.
func (h *hand) read(r *bufio.Reader) error {
	text, err := r.ReadBytes('\n')
	if err == nil {
		err = json.Unmarshal(text, &h.c)
	}
	if err != nil {
		return fmt.Errorf("read what the hands are to do: %w", err)
	}
	h.c = h.c.filled()
	if err := h.c.Check(); err != nil {
		return fmt.Errorf("the hands: %w", err)
	}
	return nil
}

// watch ends the hands when the conductor's end of the pipe closes, or a signal comes.
func (h *hand) watch(in io.Reader) {
	go func() {
		_, _ = io.Copy(io.Discard, in)
		h.leaving.Store(true)
	}()
	signals := make(chan os.Signal, 4)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	signal.Ignore(syscall.SIGPIPE)
	go func() {
		<-signals
		h.leaving.Store(true)
	}()
}

// take asks for the lines, at rest from the first moment on.
func (h *hand) take() (err error) {
	outputs, inputs := h.c.Outputs, h.c.Inputs
	for n, w := range outputs {
		h.bits[w.Line], h.wires[w.Line] = 1<<n, w
		h.laid[w.Line] = newLaid()
		if w.Line == rigsignal.Heartbeat {
			h.heart = 1 << n
			continue
		}
		h.wired = append(h.wired, w.Line)
	}
	h.supply = rigsignal.Supply
	if h.c.Chip == noChip {
		none := &noLines{}
		for n, o := range atRest(outputs) {
			none.bits |= uint64(number(o.Initial)) << n
		}
		h.outputs, h.chipName = none, "no chip"
		return nil
	}
	if h.chip, err = openChip(h.c); err != nil {
		return err
	}
	h.chipName = h.chip.String()
	if h.outputs, err = h.chip.Outputs("pintle hands", atRest(outputs)...); err != nil {
		return err
	}
	if len(inputs) > 0 {
		var list []lines.Input
		for _, w := range inputs {
			list = append(list, lines.Input{Offset: w.Offset, ActiveLow: w.ActiveLow, Bias: w.Bias})
		}
		inputs, err := h.chip.Inputs("pintle hands", 0, list...)
		if err == nil {
			h.inputs = inputs
			err = h.lookAgain()
		}
		if err != nil {
			return errors.Join(err, h.outputs.Close())
		}
	}
	return nil
}

// A driver drives lines: those of a chip, or none.
type driver interface {
	Set(mask, bits uint64) error
	Get() (uint64, error) // as the pins have it, a bit for each in their order
	Close() error
}

// A sensor senses lines.
type sensor interface {
	Take(*lines.Edge) (bool, error)
	Levels() (uint64, error) // a bit for each, in their order
}

// noLines drives nothing, so that the hands' own time can be measured on a machine
// that has no lines.
type noLines struct{ bits uint64 }

func (n *noLines) Set(mask, bits uint64) error { n.bits = n.bits&^mask | bits&mask; return nil }
func (n *noLines) Get() (uint64, error)        { return n.bits, nil }
func (n *noLines) Close() error                { return nil }

// noChip is the name of the chip that has no lines. No file can name it: files name
// chips by their labels.
const noChip = "none"

func openChip(c Config) (*lines.Chip, error) {
	if c.Chip != "" {
		return lines.Open(c.Chip)
	}
	return lines.Find(c.Labels...)
}

// atRest is the outputs with every line broken, the supply off.
func atRest(outputs []Wire) (list []lines.Output) {
	for _, w := range outputs {
		list = append(list, lines.Output{Offset: w.Offset, ActiveLow: w.ActiveLow, OpenDrain: w.OpenDrain, Bias: w.Bias,
			Initial: w.Line != rigsignal.Heartbeat && w.logical(rigsignal.Broken)})
	}
	return list
}

// work is the thread of the lines. However it ends, the supply falls first.
func (h *hand) work() (status int) {
	defer func() {
		if p := recover(); p != nil {
			h.release()
			h.last(Notice{Code: "hands-failed", Text: fmt.Sprintf("the hands failed: %v", p)})
			status = 2
			return
		}
		h.release()
	}()
	for !h.leaving.Load() && h.desk.quit.Load() == 0 {
		if err := h.turn(); err != nil {
			h.release()
			h.trip(LinesFailed)
			h.last(Notice{Code: "lines-failed", Text: err.Error()})
			return 1
		}
	}
	return 0
}

// tell passes notices on. It has a goroutine of its own, since a pipe may be full.
func (h *hand) tell() {
	for n := range h.notices {
		_ = h.say.Encode(n)
		h.told.Add(1)
	}
}

// last says why the hands end, and gives it a moment to be read.
func (h *hand) last(n Notice) {
	h.notice(n)
	for range 100 {
		if h.told.Load()+h.desk.unsaid.count.Load() >= h.desk.said.Load() {
			break
		}
		pause(time.Millisecond)
	}
}
