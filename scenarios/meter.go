package scenarios

import (
	"fmt"
	"time"

	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A MeterFile is the meter of the motor current.
type MeterFile struct {
	yamlfile.Where
	Kind       yamlfile.Text     `key:"kind" need:"yes" words:"virtual|serial" doc:"virtual, or serial for a real one at a serial port"`
	Serial     *SerialFile       `key:"serial" doc:"of a serial meter: the port and what it speaks"`
	Interval   quantity.Duration `key:"interval" need:"yes" limit:"positive" doc:"from one reading to the next"`
	Window     quantity.Duration `key:"window" doc:"the time that a reading averages; the interval where it is not given"`
	Least      quantity.Duration `key:"least delay" default:"0s" doc:"from the end of that time to the bench, at least"`
	Most       quantity.Duration `key:"most delay" default:"2ms" doc:"from the end of that time to the bench, at most"`
	Bridge     quantity.Duration `key:"serial bridge" default:"0s" doc:"by which a serial bridge may hold a reading back besides; those for USB do so for up to 16 ms as they come, 1 ms where that is set"`
	Resolution quantity.Amperage `key:"resolution" need:"yes" limit:"positive" doc:"one step of the reading"`
	Noise      quantity.Amperage `key:"noise" default:"0A" doc:"standard deviation of a reading"`
	Gain       quantity.Measure  `key:"gain error" unit:"number" limit:"0 to 0.5" default:"1 %" doc:"by how much of a current the reading may be off"`
	Zero       quantity.Amperage `key:"zero error" default:"0A" doc:"and by how much whatever the current is"`
	Range      quantity.Amperage `key:"range" need:"yes" limit:"positive" doc:"the largest current that it can read"`
	Identity   yamlfile.Text     `key:"identity" doc:"what it must say that it is, word for word; pintle check --bench tells what it says, of a scpi meter"`
	Invert     yamlfile.Switch   `key:"invert" doc:"yes where it reads opening currents as negative"`
}

// Latest is the longest time from the end of a reading's window to the bench.
func (m *MeterFile) Latest() time.Duration { return m.Most.Value + m.Bridge.Value }

// A SerialFile is what a meter at a serial port speaks.
type SerialFile struct {
	Port      yamlfile.Text     `key:"port" need:"yes" doc:"the port, best by its name under /dev/serial/by-id"`
	Baud      yamlfile.Count    `key:"baud" limit:"50 to 4000000" default:"115200" doc:"bits per second"`
	Protocol  yamlfile.Text     `key:"protocol" need:"yes" names:"protocol"`
	Query     yamlfile.Text     `key:"query" doc:"of scpi: what asks for a reading, such as MEAS:CURR?"`
	Unit      yamlfile.Text     `key:"unit" words:"A|mA|uA" default:"A" doc:"of text and scpi: the unit of readings that come without one"`
	Address   yamlfile.Count    `key:"address" limit:"1 to 247" default:"1" doc:"of modbus: the meter's address"`
	Function  yamlfile.Count    `key:"function" limit:"3 to 4" default:"4" doc:"of modbus: 3 reads holding registers, 4 input registers"`
	Register  yamlfile.Count    `key:"register" limit:"0 to 65535" default:"0" doc:"of modbus: the first register, counted from 0"`
	Format    yamlfile.Text     `key:"format" names:"format" default:"int16" doc:"of modbus: the form of the value"`
	WordOrder yamlfile.Text     `key:"word order" words:"high first|low first" default:"high first" doc:"of modbus: the order of a value's two registers"`
	Scale     quantity.Amperage `key:"scale" limit:"positive" default:"1mA" doc:"of modbus: the current of one count, or of 1.0"`
	Rehearsal yamlfile.Text     `key:"rehearsal wire" doc:"another port, at which the simulated motor's current is spoken as the meter would; for trying the bench out without a meter"`
}

// check says what does not fit together.
func (m *MeterFile) check(with *Equipment) yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	switch {
	case m.Kind.Text == "serial" && m.Serial == nil:
		bad = append(bad, m.Kind.Wrong(`a serial meter needs the key "serial"`, yamlfile.Expected("serial: with port and protocol")))
	case m.Kind.Text == "virtual" && m.Serial != nil:
		bad = append(bad, m.Kind.Wrong(`the key "serial" does not go with a virtual meter`, yamlfile.Expected("kind: serial, or no serial")))
	}
	if m.Serial != nil {
		bad = append(bad, m.Serial.checkQuery(with)...)
	}
	if m.Serial != nil && m.Serial.Rehearsal.Given() && m.Serial.Rehearsal.Text == m.Serial.Port.Text {
		bad = append(bad, m.Serial.Rehearsal.Wrong("the rehearsal wire is the meter's own port", yamlfile.Expected("the other end of the wire")))
	}
	if !m.Window.Given() {
		m.Window.Value = m.Interval.Value
	}
	if m.Least.Value > m.Most.Value {
		at := m.Least
		if !at.Given() {
			at.Source = m.Most.Source
		}
		bad = append(bad, at.Wrong(fmt.Sprintf("the least delay of %v is more than the most delay of %v", m.Least.Value, m.Most.Value), yamlfile.Expected("least delay at most most delay")))
	}
	if m.Resolution.Value >= m.Range.Value && m.Resolution.Value > 0 && m.Range.Value > 0 {
		bad = append(bad, m.Resolution.Wrong("one step of the reading is no less than the whole range", yamlfile.Expected("less than "+m.Range.Text)))
	}
	return bad
}

// checkQuery wants a meter that has to be asked to be asked.
func (s *SerialFile) checkQuery(with *Equipment) yamlfile.Mistakes {
	such := with.protocol(s.Protocol.Text).Query
	if such == "" || s.Query.Given() {
		return nil
	}
	return yamlfile.Mistakes{s.Protocol.Wrong(fmt.Sprintf("a meter that speaks %s must be asked", s.Protocol.Text), yamlfile.Expected("query: what asks for a reading, such as "+such))}
}
