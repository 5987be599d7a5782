package meter

import (
	"time"

	"pintle/rig/signal"
)

// A protocol is one way to talk to a meter.
type protocol struct {
	name   string
	what   string // in one line, for lists and messages
	baud   int    // the usual speed
	parity string // the usual parity
	polled bool   // it only speaks when asked
	says   bool   // the meter can be asked what it is
	query  string // a question for a reading, where which one it is hangs on the meter
	forms  []Form // of a value, where which one it is hangs on the meter
	fill   func(*Config)
	check  func(*Config) []error
	size   func(*Config) (question, answer int) // fewest bytes on the wire
	gap    func(baud int) time.Duration         // quiet before and after each message; nil: none
	reader func(*Config) reader
	voice  func(*Config) Voice
}

// protocols is the table of all protocols: adding one is adding an entry.
var protocols = []protocol{
	{
		name: "text", what: "plain text lines that the meter sends by itself",
		baud: 115200, parity: "none",
		fill:   func(*Config) {},
		check:  checkText,
		size:   func(*Config) (int, int) { return 0, len("0A\n") },
		reader: func(c *Config) reader { return &textReader{c: c} },
		voice:  func(c *Config) Voice { return textVoice{c} },
	},
	{
		name: "scpi", what: "SCPI commands with IEEE 488.2 numbers, one question for each reading",
		baud: 9600, parity: "none", polled: true, says: true, query: "MEAS:CURR?",
		fill:   fillSCPI,
		check:  checkSCPI,
		size:   func(c *Config) (int, int) { return len(c.SCPI.Query) + 1, len("0\n") },
		reader: func(c *Config) reader { return &scpiReader{c: c} },
		voice:  func(c *Config) Voice { return &scpiVoice{c: c} },
	},
	{
		name: "modbus", what: "Modbus RTU, functions 03 and 04, one question for each reading",
		baud: 19200, parity: "even", polled: true,
		fill:   fillModbus,
		check:  checkModbus,
		forms:  modbusForms(),
		size:   func(c *Config) (int, int) { return requestSize, c.Modbus.replySize() },
		gap:    silentInterval,
		reader: newModbusReader,
		voice:  func(c *Config) Voice { return modbusVoice{&c.Modbus} },
	},
}

// A reader speaks the bench's side of a protocol.
type reader interface {
	// greet makes the meter known. It must not wait for a meter that only sends.
	greet(*link) (identity string, err error)

	// next waits for the next reading, or tells what came instead. An error is
	// that of a port that has failed.
	next(*link) (reading, fault, error)
}

// A Voice speaks the meter's side of a protocol, so that a bench can be rehearsed
// and tested without a meter.
type Voice interface {
	// Say appends what the meter sends by itself when it has read a current; a
	// meter that waits to be asked appends nothing.
	Say(dst []byte, at signal.Instant, c signal.Current) []byte

	// Answer appends the answer to the first whole question in what was heard, and
	// tells how much of it that was: 0 while the question is not whole.
	Answer(dst, heard []byte, c signal.Current) (reply []byte, used int)
}

// A ProtocolInfo is what there is to say of a protocol.
type ProtocolInfo struct {
	Name   string
	What   string
	Baud   int    // the speed where none is given
	Parity string // the parity where none is given
	Polled bool   // the bench asks for each reading
	Query  string // a question for a reading, where the configuration has to give one
	Forms  []Form // of a value, of which the configuration has to name one
}

// A Form is one that a protocol's values may have.
type Form struct{ Name, What string }

// Protocols lists all protocols.
func Protocols() []ProtocolInfo {
	var list []ProtocolInfo
	for _, p := range protocols {
		list = append(list, ProtocolInfo{p.name, p.what, p.baud, p.parity, p.polled, p.query, p.forms})
	}
	return list
}

func findProtocol(name string) (*protocol, bool) {
	for i := range protocols {
		if protocols[i].name == name {
			return &protocols[i], true
		}
	}
	return nil, false
}

// VoiceOf gives the meter's side of the configured protocol.
func VoiceOf(c Config) (Voice, error) {
	c = c.Filled()
	if err := c.Check(); err != nil {
		return nil, err
	}
	p, _ := findProtocol(c.Protocol)
	return p.voice(&c), nil
}
