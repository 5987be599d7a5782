package waveform

import (
	"fmt"
	"slices"
	"strings"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Lane is a wire that the trace itself does not have: something that was made out
// of it.
type Lane struct {
	Name    string
	Origin  byte // the value at zero: '0', '1', or 'x' where nothing is known
	Changes []Value
}

// A Value is what a wire takes on at an instant: '0', '1' or 'x'.
type Value struct {
	At    signal.Instant
	Level byte
}

// MotorLanes tell what the motor was seen doing: a wire for each way that it turns,
// x until the first reading settles it. Like an edge, a change stands at the middle
// of its span.
func MotorLanes(changes []motion.Change) []Lane {
	lanes := []Lane{{Name: "motor_opening", Origin: 'x'}, {Name: "motor_closing", Origin: 'x'}}
	for i, way := range []motion.State{motion.Opening, motion.Closing} {
		for _, c := range changes {
			v := Value{At: c.Span.Mid(), Level: '0'}
			switch c.Is {
			case way:
				v.Level = '1'
			case motion.Unknown:
				v.Level = 'x'
			}
			lanes[i].Changes = append(lanes[i].Changes, v)
		}
	}
	return lanes
}

// FindingLanes tell what decided each rule: a wire that is 1 from the middle of the
// span of the trigger to that of the answer or, where one instant alone decided,
// along its span and for 1 ns at least. The names of the rules are given by number.
func FindingLanes(findings []rule.Finding, names []string) []Lane {
	var lanes []Lane
	for _, f := range findings {
		if len(f.Decided) == 0 {
			continue
		}
		name := fmt.Sprintf("rule_%d", f.Rule+1)
		if f.Rule >= 0 && f.Rule < len(names) {
			name += "_" + names[f.Rule]
		}
		from, to := f.Decided[0].Early, f.Decided[0].Late
		if len(f.Decided) > 1 {
			from, to = f.Decided[0].Mid(), f.Decided[1].Mid()
		}
		lanes = append(lanes, Lane{Name: name + "_" + f.Verdict.String(), Origin: '0', Changes: []Value{{from, '1'}, {max(to, from+1), '0'}}})
	}
	return lanes
}

// wire is a change of a lane on its way into a dump.
type wire struct {
	Value
	id string
}

// laneID is the identifier of a lane: those of one character are for lines.
func laneID(n int) string {
	return string([]byte{'~', '!' + byte(n/94%94), '!' + byte(n%94)})
}

// wires are the changes of all lanes in the order of time.
func wires(lanes []Lane) []wire {
	var all []wire
	for n, l := range lanes {
		for _, c := range l.Changes {
			all = append(all, wire{c, laneID(n)})
		}
	}
	slices.SortStableFunc(all, func(a, b wire) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	return all
}

// laneNames makes identifiers of the lanes' names, each different from the others.
func laneNames(lanes []Lane) []string {
	var names []string
	for _, l := range lanes {
		name := strings.Trim(word(l.Name), "_")
		for strings.Contains(name, "__") {
			name = strings.ReplaceAll(name, "__", "_")
		}
		for slices.Contains(names, name) {
			name += "_"
		}
		names = append(names, name)
	}
	return names
}
