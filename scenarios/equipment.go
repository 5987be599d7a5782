package scenarios

import "pintle/scenarios/yamlfile"

// Equipment is what there is to put a controller to the test with: bench.yaml names it, and
// whoever has files read knows it.
type Equipment struct {
	Benches   []BenchKind
	Protocols []Protocol
}

// A BenchKind is a kind of bench.
type BenchKind struct {
	Name, Means string
	Pins        bool // its lines are on real pins
}

// A Protocol is what a meter at a serial port may speak.
type Protocol struct {
	Name, Means string
	Query       string          // what may ask for a reading, where a file has to say what does
	Formats     []yamlfile.Name // of a value, where a file has to say which
}

func (e *Equipment) benchesToName() (all []yamlfile.Name) {
	for _, b := range e.Benches {
		all = append(all, yamlfile.Name{Name: b.Name, Doc: b.Means})
	}
	return all
}

func (e *Equipment) protocolsToName() (all []yamlfile.Name) {
	for _, p := range e.Protocols {
		all = append(all, yamlfile.Name{Name: p.Name, Doc: p.Means})
	}
	return all
}

// bench is the kind of a name; the zero BenchKind is that of a name that is none.
func (e *Equipment) bench(name string) (kind BenchKind) {
	for _, b := range e.Benches {
		if b.Name == name {
			kind = b
		}
	}
	return kind
}

// protocol is that of a name; the zero Protocol is that of a name that is none.
func (e *Equipment) protocol(name string) (protocol Protocol) {
	for _, p := range e.Protocols {
		if p.Name == name {
			protocol = p
		}
	}
	return protocol
}

func (e *Equipment) formatsToName() (all []yamlfile.Name) {
	for _, p := range e.Protocols {
		all = append(all, p.Formats...)
	}
	return all
}
