package scenarios

import "pintle/scenarios/yamlfile"

// equipment is what the files of these tests may name. What the program itself has is in
// tables that this package does not know; cmd/pintle tries those.
var equipment = Equipment{
	Benches: []BenchKind{
		{Name: "virtual", Means: "lines, motor and controller are simulated"},
		{Name: "pi", Means: "real lines on the pins of a Raspberry Pi, or of another machine with GPIO lines", Pins: true},
	},
	Protocols: []Protocol{
		{Name: "text", Means: "a reading a line"},
		{Name: "scpi", Means: "IEEE 488.2 messages", Query: "MEAS:CURR?"},
		{Name: "modbus", Means: "Modbus RTU", Formats: []yamlfile.Name{{Name: "int16", Doc: "one register, with a sign"}, {Name: "uint16", Doc: "one register, never negative"}}},
	},
}
