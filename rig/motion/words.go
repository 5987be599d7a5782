package motion

// A Phrase is what can be said of the motor.
type Phrase struct {
	Words string
	Event bool  // it is said of the instant at which the state begins
	State State // Unknown: either way
}

// Phrases is the table of all that can be said of the motor, in files and in texts.
var Phrases = []Phrase{
	{"closing", false, Closing},
	{"opening", false, Opening},
	{"stopped", false, Stopped},
	{"moving", false, Unknown},
	{"starts closing", true, Closing},
	{"starts opening", true, Opening},
	{"starts", true, Unknown},
	{"stops", true, Stopped},
}
