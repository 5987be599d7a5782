package virtual

// A PairInfo is two defects that plausibly come together.
type PairInfo struct {
	Defects [2]string // names out of Defects()
	Why     string    // what brings them together
}

// pairs is a table: where one of two hides the other, only a scenario that tells
// them apart sees both.
var pairs = []PairInfo{
	{[2]string{"no run-time cut-out", "ignores the open limit"}, "one flag that stands for either is never set"},
	{[2]string{"no stall cut-out", "no run-time cut-out"}, "the task that watches the motor was never started"},
	{[2]string{"no debounce of limits", "no debounce of the button"}, "the filter is switched off for all inputs at once"},
	{[2]string{"obeys a glitch on a limit", "obeys a glitch on the beam"}, "the inputs were moved to interrupts to save power"},
	{[2]string{"no dead time", "stall cut-out too slow"}, "a timer was set up with the wrong divider"},
	{[2]string{"ignores the beam", "does not reverse after a stall"}, "the reversal was taken out after a complaint"},
	{[2]string{"slow to stop at a limit", "slow to stop when pressed"}, "a soft stop was added without shortening what comes before it"},
	{[2]string{"no quiet time after power-up", "button held at power-up is a press"}, "start-up code was left out to wake sooner"},
	{[2]string{"comes back driving after a reset", "resets when the supply sags"}, "the brown-out level is set for the wrong voltage, and the outputs are latched"},
	{[2]string{"restarts when a limit breaks again", "forgets a short limit pulse"}, "a limit is read as a level, and never remembered"},
	{[2]string{"tries again after a stall", "tries again after a short circuit"}, "one fault handler that clears everything after a while"},
	{[2]string{"no open-circuit cut-out", "no short-circuit cut-out"}, "the shunt's amplifier is not fitted on the cheaper board"},
	{[2]string{"stall threshold too low", "takes the inrush for a stall"}, "the shunt has the wrong value"},
	{[2]string{"clock wraps after a minute", "run time counted over all drives"}, "a clock that was never meant to be compared"},
	{[2]string{"a press calls a stop off", "hangs when two remotes are pressed"}, "the receivers were given a task of their own that shares variables without a lock"},
}

// Pairs is the table of all pairs.
func Pairs() []PairInfo { return append([]PairInfo(nil), pairs...) }
