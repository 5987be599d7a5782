package meter

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"time"

	"pintle/rig/signal"
)

// ModbusOptions are what the protocol "modbus" leaves open.
type ModbusOptions struct {
	Unit     int            // unit address, 1 to 247
	Function int            // 3: holding registers; 4: input registers; 0: 4
	Register int            // address of the first register, 0 to 65535, as sent on the wire
	Type     string         // int16, uint16, int32, uint32 or float32; empty: int16
	LowFirst bool           // of two registers the low half comes first
	Step     signal.Current // what one count stands for, or the number 1.0 of a float32; 0: 1 mA, or 1 A of a float32
}

// A modbusType is a way to read registers as a number.
type modbusType struct {
	name     string
	what     string
	count    int // registers
	low, top int64
	float    bool
}

var modbusTypes = []modbusType{
	{"int16", "one register, with a sign", 1, math.MinInt16, math.MaxInt16, false},
	{"uint16", "one register, never negative", 1, 0, math.MaxUint16, false},
	{"int32", "two registers, with a sign", 2, math.MinInt32, math.MaxInt32, false},
	{"uint32", "two registers, never negative", 2, 0, math.MaxUint32, false},
	{"float32", "two registers, a number by IEEE 754", 2, 0, 0, true},
}

func modbusForms() (all []Form) {
	for _, t := range modbusTypes {
		all = append(all, Form{t.name, t.what})
	}
	return all
}

// findType gives the type asked for, or the first one and false.
func (o *ModbusOptions) findType() (modbusType, bool) {
	for _, t := range modbusTypes {
		if t.name == o.Type {
			return t, true
		}
	}
	return modbusTypes[0], false
}

func fillModbus(c *Config) {
	o := &c.Modbus
	if o.Function == 0 {
		o.Function = 4
	}
	if o.Type == "" {
		o.Type = "int16"
	}
	if o.Step == 0 {
		o.Step = 1000
		if o.Type == "float32" {
			o.Step = signal.Ampere
		}
	}
}

func checkModbus(c *Config) (errs []error) {
	o := &c.Modbus
	if o.Unit < 1 || o.Unit > 247 {
		errs = append(errs, fmt.Errorf("modbus unit %d is outside 1 to 247", o.Unit))
	}
	if o.Function != 3 && o.Function != 4 {
		errs = append(errs, fmt.Errorf("modbus function %d is neither 3 (holding registers) nor 4 (input registers)", o.Function))
	}
	t, ok := o.findType()
	if !ok {
		var names []string
		for _, t := range modbusTypes {
			names = append(names, t.name)
		}
		errs = append(errs, fmt.Errorf("modbus type %q%s", o.Type, nearest(o.Type, names)))
	}
	if o.Register < 0 || o.Register+t.count > 1<<16 {
		errs = append(errs, fmt.Errorf("modbus register %d is outside 0 to %d", o.Register, 1<<16-t.count))
	}
	if o.Step < 0 || o.Step > 1000*signal.Ampere {
		errs = append(errs, fmt.Errorf("modbus step %v is outside 0 to 1000 A; a meter wired the other way round is inverted, not negative", o.Step))
	}
	if c.DataBits != 8 {
		errs = append(errs, fmt.Errorf("modbus RTU needs 8 data bits, not %d", c.DataBits))
	}
	return errs
}

// silentInterval is the quiet that ends a frame: 3.5 characters of 11 bits, and
// above 19200 baud a fixed 1.75 ms. Modbus over Serial Line V1.02, 2.5.1.1.
func silentInterval(baud int) time.Duration {
	if baud > 19200 {
		return 1750 * time.Microsecond
	}
	return (38_500_000_000 + time.Duration(baud) - 1) / time.Duration(baud)
}

// Sizes of frames, in bytes.
const (
	requestSize   = 8
	exceptionSize = 5
	replyFrame    = 5 // of a reply, besides its registers
)

func (o *ModbusOptions) replySize() int {
	t, _ := o.findType()
	return replyFrame + 2*t.count
}

func (o *ModbusOptions) request() []byte {
	t, _ := o.findType()
	return appendCRC([]byte{byte(o.Unit), byte(o.Function), byte(o.Register >> 8), byte(o.Register), 0, byte(t.count)})
}

// exceptions are the reasons of a refusal. Modbus Application Protocol V1.1b3, 7.
var exceptions = map[byte]string{
	1: "exception 1, illegal function", 2: "exception 2, illegal data address", 3: "exception 3, illegal data value",
	4: "exception 4, server device failure", 5: "exception 5, acknowledge", 6: "exception 6, server device busy",
	8: "exception 8, memory parity error", 10: "exception 10, gateway path unavailable",
	11: "exception 11, gateway target device failed to respond",
}

// parseModbus reads one whole frame that was sent in reply to the request.
func parseModbus(frame []byte, o *ModbusOptions) (signal.Current, fault) {
	switch {
	case len(frame) < exceptionSize:
		return 0, fault{PartialLine, "a frame that is too short"}
	case !goodCRC(frame):
		return 0, fault{BadCRC, "the frame's check sum does not fit"}
	case int(frame[0]) != o.Unit:
		return 0, fault{Garbage, "another unit answered"}
	case int(frame[1]) == o.Function|0x80 && len(frame) == exceptionSize:
		why, ok := exceptions[frame[2]]
		if !ok {
			why = "an exception that the standard does not know"
		}
		return 0, fault{Exception, why}
	case int(frame[1]) != o.Function:
		return 0, fault{Garbage, "an answer to another function"}
	case len(frame) != o.replySize() || int(frame[2]) != len(frame)-replyFrame:
		return 0, fault{Garbage, "an answer with another number of registers"}
	}
	return o.value(frame[3 : len(frame)-2])
}

// value reads the registers. A reading at the end of an integer type's range may
// have been clipped there, so it counts as over range.
func (o *ModbusOptions) value(b []byte) (signal.Current, fault) {
	t, _ := o.findType()
	bits := uint32(binary.BigEndian.Uint16(b))
	if t.count == 2 {
		low := uint32(binary.BigEndian.Uint16(b[2:]))
		if o.LowFirst {
			bits, low = low, bits
		}
		bits = bits<<16 | low
	}
	if t.float {
		return o.float(math.Float32frombits(bits))
	}
	v := int64(bits)
	switch {
	case t.low < 0 && t.count == 1:
		v = int64(int16(bits))
	case t.low < 0:
		v = int64(int32(bits))
	}
	if v == t.top || v == t.low && t.low < 0 {
		return 0, fault{OverRange, "the reading is at the end of its type's range and may be clipped"}
	}
	return signal.Current(v) * o.Step, fault{} // at most 2^32 × 10^9, which fits
}

func (o *ModbusOptions) float(f float32) (signal.Current, fault) {
	v := float64(f) * float64(o.Step)
	switch {
	case math.IsNaN(v):
		return 0, fault{NotANumber, "the register holds no number"}
	case math.Abs(v) >= 1<<62:
		return 0, fault{OverRange, "more than can be counted"}
	}
	return signal.Current(math.Round(v)), fault{}
}

// modbusReader asks for one reading after another.
type modbusReader struct {
	c       *Config
	pace    pace
	request []byte
	quiet   time.Duration // the silent interval
	suspect bool          // the last answer failed
}

func newModbusReader(c *Config) reader {
	return &modbusReader{c: c, request: c.Modbus.request(), quiet: silentInterval(c.Baud)}
}

// greet asks for one reading, to see whether the unit answers at all. Its first
// answer may be spoilt by what was under way on the line, so it gets two tries.
func (m *modbusReader) greet(l *link) (string, error) {
	var f fault
	for range 2 {
		if err := l.drain(m.quiet); err != nil {
			return "", err
		}
		var err error
		if _, f, err = m.read(l); err != nil {
			return "", err
		}
		if f.none() || f.code == OverRange || f.code == NotANumber {
			m.pace.start(l.clock(), m.c)
			return fmt.Sprintf("Modbus unit %d, %s register %d as %s", m.c.Modbus.Unit,
				[...]string{3: "holding", 4: "input"}[m.c.Modbus.Function], m.c.Modbus.Register, m.c.Modbus.Type), nil
		}
	}
	return "", fmt.Errorf("asked unit %d for register %d: %s: %s", m.c.Modbus.Unit, m.c.Modbus.Register, f.detail, about(f.code).Do)
}

func (m *modbusReader) next(l *link) (r reading, f fault, err error) {
	if m.suspect {
		if err = l.drain(max(m.quiet, m.c.Silence)); err != nil {
			return r, f, err
		}
		m.pace.start(l.clock(), m.c)
	}
	if f, err = m.pace.wait(l, m.quiet); err == nil && f.none() {
		r, f, err = m.read(l)
	}
	m.suspect = !f.none()
	return r, f, err
}

func (m *modbusReader) read(l *link) (r reading, f fault, err error) {
	if err = l.write(m.request); err != nil {
		return r, f, err
	}
	deadline := l.clock().Add(m.c.Silence)
	for {
		if frame, ok := m.frame(l); ok {
			r.arrival = l.arrival
			r.current, f = parseModbus(frame, &m.c.Modbus)
			return r, f, nil
		}
		n, err := l.more(deadline.Sub(l.clock()))
		switch {
		case err != nil:
			return r, f, err
		case n == 0 && l.pending() == 0:
			return r, fault{Silent, "asked for a reading, no answer"}, nil
		case n == 0:
			l.said = l.rest()
			return r, fault{PartialLine, "a frame has begun and does not end"}, nil
		}
	}
}

// frame takes the reply once it is whole. How long it is, its second byte tells.
func (m *modbusReader) frame(l *link) ([]byte, bool) {
	b := l.rest()
	size := m.c.Modbus.replySize()
	if len(b) >= 2 && b[1]&0x80 != 0 {
		size = exceptionSize
	}
	if len(b) < size {
		return nil, false
	}
	return l.take(size), true
}

// modbusVoice speaks as a Modbus server that holds one reading.
type modbusVoice struct{ o *ModbusOptions }

func (modbusVoice) Say(dst []byte, _ signal.Instant, _ signal.Current) []byte { return dst }

// Answer keeps silent where a server has to: on a bad check sum, and when another
// unit is asked.
func (v modbusVoice) Answer(dst, heard []byte, c signal.Current) ([]byte, int) {
	if len(heard) < requestSize {
		return dst, 0
	}
	frame := heard[:requestSize]
	if !goodCRC(frame) {
		return dst, len(heard)
	}
	if int(frame[0]) != v.o.Unit {
		return dst, requestSize
	}
	t, _ := v.o.findType()
	begin := len(dst)
	switch {
	case int(frame[1]) != v.o.Function:
		dst = append(dst, frame[0], frame[1]|0x80, 1)
	case !slices.Equal(frame[2:6], v.o.request()[2:6]):
		dst = append(dst, frame[0], frame[1]|0x80, 2)
	default:
		dst = v.appendValue(append(dst, frame[0], frame[1], byte(2*t.count)), t, c)
	}
	crc := crc16(dst[begin:])
	return append(dst, byte(crc), byte(crc>>8)), requestSize
}

func (v modbusVoice) appendValue(dst []byte, t modbusType, c signal.Current) []byte {
	var bits uint32
	if t.float {
		bits = math.Float32bits(float32(float64(c) / float64(v.o.Step)))
	} else {
		half := v.o.Step / 2
		if c < 0 {
			half = -half
		}
		bits = uint32(min(max(int64((c+half)/v.o.Step), t.low), t.top))
	}
	words := []uint16{uint16(bits >> 16), uint16(bits)}
	if v.o.LowFirst {
		slices.Reverse(words)
	}
	if t.count == 1 {
		words = []uint16{uint16(bits)}
	}
	for _, w := range words {
		dst = binary.BigEndian.AppendUint16(dst, w)
	}
	return dst
}
