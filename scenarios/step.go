package scenarios

import (
	"fmt"
	"strings"
	"time"

	"pintle/rig"
	"pintle/rig/signal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// ordinaryPress is how long a finger stays on a button that is only pushed.
const ordinaryPress = 300 * time.Millisecond

// press is how long a press without a time of its own lasts: an ordinary one, or
// twice as long as the controller must be pressed to obey.
func (c *compiler) press() time.Duration {
	v, _ := c.lookup("shortest press")
	return max(ordinaryPress, 2*v.Duration())
}

func (c *compiler) step(f StepFile) rig.Step {
	s := rig.Step{Source: c.at(f.Where.Source), For: c.time(f.For)}
	drive := func(n LineName, to signal.Level, word string) {
		s.Kind, s.Line, s.Level, s.Text = rig.Drive, n.Line, to, word+" "+n.Text
	}
	switch {
	case f.Press.Given():
		drive(f.Press, signal.Made, "press")
		if !f.For.Given() {
			s.For = c.press()
		}
	case f.Hold.Given():
		drive(f.Hold, signal.Made, "hold")
	case f.Release.Given():
		drive(f.Release, signal.Broken, "release")
	case f.Make.Given():
		drive(f.Make, signal.Made, "make")
	case f.Break.Given():
		drive(f.Break, signal.Broken, "break")
	case f.Supply.Given():
		s.Kind, s.Line, s.Text = rig.Drive, signal.Supply, "supply "+f.Supply.Text
		if f.Supply.Text == "on" {
			s.Level = signal.Made
		}
	case f.Await.Given():
		s.Kind, s.Condition, s.Within = rig.Await, c.condition(f.Await), c.time(f.Within)
		s.Text = fmt.Sprintf("await %s within %s", f.Await.Text, f.Within.Text)
	case f.Wait.Given():
		s.Kind, s.For, s.Text = rig.Wait, c.time(f.Wait), "wait "+f.Wait.Text
	case f.Obstruct.Given():
		s.Kind, s.At, s.Text = rig.Obstruct, f.Obstruct.Value, "obstruct the way at "+f.Obstruct.Text
		if s.At < 0 {
			s.Text = "obstruct the way here"
		}
	case f.Clear.Given():
		s.Kind, s.Text = rig.Clear, "clear the way"
	}
	if f.For.Given() {
		s.Text += " for " + f.For.Text
	}
	return s
}

// limitText gives a limit as it is written, and what it comes to where that is
// not the same.
func limitText(f quantity.Formula, v quantity.Value) string {
	text := strings.Join(strings.Fields(f.Text), " ")
	worth := v.String()
	if v.Of == quantity.Unknown || strings.ReplaceAll(text, " ", "") == worth {
		return text
	}
	return fmt.Sprintf("%s (%s)", text, worth)
}

// prose is a text with its lines joined.
func prose(t yamlfile.Text) string { return strings.Join(strings.Fields(t.Text), " ") }
