package rule

import "fmt"

// A PatternInfo is all that there is to say of a pattern: how a file writes it, what
// monitors it, what it measures, and how it is told that it was broken.
type PatternInfo struct {
	Pattern Pattern // a row's place in the table, counted from 1
	Name    string  // its published name, and the key that begins a rule of it in a file
	Means   string  // in one sentence

	About Part   // what the key of its name says: P, the Current or the Load
	Keys  []Key  // what else a rule of it says
	Call  string // what a rule without a name is called; {p}, {s}, {limit}, {count}, {current}, {window}, {part}, {load} are put in
	State Part   // what must last, and so cannot be an event: P or S; 0: nothing

	Unit  Unit // of what it measures; NoUnit: nothing
	Sense Sense
	Turns [2]Turn // of a time that it measures: from which turn to which

	Broken  Breach
	Figure  string // of TooMuch and TooLittle: what is
	Decided string // of them: what the deciding instant is
	Look    string // what to look at where it was broken, whatever the faults. Common practice, no source

	negate bool // what is listened to is that P does not hold
	once   bool // one occurrence that passes settles it
	make   func() body
}

// A Part is something that a rule says.
type Part uint8

// The parts of a rule, each a field of Rule.
const (
	PartP       Part = 1 // P
	PartS       Part = 2 // S
	PartLimit   Part = 3 // Limit
	PartCount   Part = 4 // Count
	PartCurrent Part = 5 // Current
	PartWindow  Part = 6 // Window
	PartLoad    Part = 7 // Heating.Most
	PartHeated  Part = 8 // Heating.Part, and with it the curve
	PartStart   Part = 9 // Heating.Start
)

// A Key is what a file calls a part of a rule beside the one that its pattern is
// about.
type Key struct {
	Name  string
	Part  Part
	Means string // as an editor shows it
	Spare bool   // it may be left out
}

// The keys, which several patterns may share.
var (
	keyIs        = Key{"is", PartLimit, "the time", false}
	keyAtMost    = Key{"at most", PartCount, "how many times", false}
	keyOnlyAfter = Key{"only after", PartS, "what must have held before", false}
	keyThen      = Key{"then", PartS, "what must follow", false}
	keyWithin    = Key{"within", PartLimit, "how soon it must follow", false}
	keyFor       = Key{"for", PartLimit, "how long it must hold", false}
	keyEvery     = Key{"every", PartLimit, "the stretch of time", false}
	keyOver      = Key{"over", PartWindow, "the time that the mean is taken over", false}
	keyOf        = Key{"of", PartHeated, "the part", false}
	keyBeginning = Key{"beginning at", PartStart, "its load at the beginning of the trial; cold where it is not given", true}
)

// A Turn is a condition's coming to hold or, where it Ends, its ceasing.
type Turn struct {
	Of   Part // P or S
	Ends bool
}

// A Breach is in what manner a rule is broken.
type Breach uint8

// What is P, and what is to follow it S.
const (
	Came       Breach = 1  // P came, which it must not
	Ceased     Breach = 2  // P ceased, which it must not
	Never      Breach = 3  // P never came
	TooOften   Breach = 4  // P came too often
	TooSoon    Breach = 5  // P came before S
	Unanswered Breach = 6  // S never came after P
	TooShort   Breach = 7  // P or, where there is one, S did not last
	TooLong    Breach = 8  // P lasted
	TooRare    Breach = 9  // P did not come again in time
	TooLate    Breach = 10 // S did not come in time
	TooMuch    Breach = 11 // the Figure rose above its limit
	TooLittle  Breach = 12 // the Figure fell below its limit
)

// Patterns is the table of all patterns in the order of their numbers, which are
// written into records: add at the end, never renumber.
var Patterns = [...]PatternInfo{
	{Pattern: Absence, Name: "absence", Means: "What is named never holds.",
		About: PartP, Call: "never: {p}",
		Broken: Came, Look: "what takes the controller into a state in which this happens: which input or timer is read there without a condition",
		make: func() body { return &overlap{bad: true} }},
	{Pattern: Universality, Name: "universality", Means: "What is named always holds.",
		About: PartP, Call: "always: {p}", State: PartP,
		Broken: Ceased, Look: "what ends the state: which input or timer is read there without a condition",
		negate: true, make: func() body { return &overlap{bad: true, negate: true} }},
	{Pattern: Existence, Name: "existence", Means: "What is named holds at some time.",
		About: PartP, Call: "at some time: {p}",
		Broken: Never, Look: "whether the controller was ready at all: supply, fuse, enable inputs, the wiring of the line that asks for it",
		once: true, make: func() body { return &overlap{} }},
	{Pattern: BoundedExistence, Name: "bounded existence", Means: "What is named comes to hold a number of times at most.",
		About: PartP, Keys: []Key{keyAtMost}, Call: "at most {count}: {p}",
		Unit: Times, Sense: AtMost,
		Broken: TooOften, Look: "what starts it anew: a counter of attempts that is reset too soon, or an input taken twice",
		make: func() body { return &counting{} }},
	{Pattern: Precedence, Name: "precedence", Means: "What is named does not hold before something else has held.",
		About: PartP, Keys: []Key{keyOnlyAfter}, Call: "{p} only after {s}",
		Broken: TooSoon, Look: "what starts it without being asked: a state kept from before, or an input that floats",
		once: true, make: func() body { return &precedence{} }},
	{Pattern: Response, Name: "response", Means: "Whenever the first thing holds, the second holds then or later.",
		About: PartP, Keys: []Key{keyThen}, Call: "after {p}: {s}",
		Broken: Unanswered, Look: "the state in which it was asked: whether the input is read there",
		make: func() body { return &response{} }},
	{Pattern: MinimumDuration, Name: "minimum duration", Means: "Once what is named holds, it holds for a time at least.",
		About: PartP, Keys: []Key{keyIs}, Call: "{p} for at least {limit}", State: PartP,
		Unit: Nanoseconds, Sense: AtLeast, Turns: [2]Turn{{PartP, false}, {PartP, true}},
		Broken: TooShort, Look: "the timer that keeps it: where it is started, and what may cut it short",
		make: func() body { return &duration{} }},
	{Pattern: MaximumDuration, Name: "maximum duration", Means: "Once what is named holds, it holds for a time at most.",
		About: PartP, Keys: []Key{keyIs}, Call: "{p} for at most {limit}", State: PartP,
		Unit: Nanoseconds, Sense: AtMost, Turns: [2]Turn{{PartP, false}, {PartP, true}},
		Broken: TooLong, Look: "the timer that ends it: where it is started, and in which states it is read",
		make: func() body { return &duration{most: true} }},
	{Pattern: BoundedRecurrence, Name: "bounded recurrence", Means: "What is named holds at least once in every stretch of a time.",
		About: PartP, Keys: []Key{keyEvery}, Call: "{p} at least once every {limit}",
		Unit: Nanoseconds, Sense: AtMost, Turns: [2]Turn{{PartP, true}, {PartP, false}},
		Broken: TooRare, Look: "what makes it recur: a task that is kept waiting by another",
		make: func() body { return &recurrence{} }},
	{Pattern: BoundedResponse, Name: "bounded response", Means: "Whenever the first thing holds, the second holds within a time.",
		About: PartP, Keys: []Key{keyThen, keyWithin}, Call: "after {p}: {s} within {limit}",
		Unit: Nanoseconds, Sense: AtMost, Turns: [2]Turn{{PartP, false}, {PartS, false}},
		Broken: TooLate, Look: "the way from the input to the output: filter times and loop periods add up",
		make: func() body { return &response{} }},
	{Pattern: BoundedInvariance, Name: "bounded invariance", Means: "Whenever the first thing holds, the second holds from then on for a time at least.",
		About: PartP, Keys: []Key{keyThen, keyFor}, Call: "after {p}: {s} for at least {limit}", State: PartS,
		Unit: Nanoseconds, Sense: AtLeast, Turns: [2]Turn{{PartP, false}, {PartS, true}},
		Broken: TooShort, Look: "the timer that keeps it: where it is started, and what may cut it short",
		make: func() body { return &invariance{} }},
	{Pattern: CurrentUnder, Name: "current under", Means: "The motor current's magnitude stays at or under a figure.",
		About: PartCurrent, Call: "current at most {current}",
		Unit: Microamperes, Sense: AtMost,
		Broken: TooMuch, Figure: "the current", Decided: "the reading", Look: "the starting and reversing of the motor: a ramp, a dead time, and the rating of the drive",
		make: func() body { return &extreme{} }},
	{Pattern: CurrentOver, Name: "current over", Means: "The motor current's magnitude stays at or over a figure.",
		About: PartCurrent, Call: "current at least {current}",
		Unit: Microamperes, Sense: AtLeast,
		Broken: TooLittle, Figure: "the current", Decided: "the reading", Look: "the supply under load and the contacts in the motor's lead",
		make: func() body { return &extreme{over: true} }},
	{Pattern: AverageUnder, Name: "average current under", Means: "The motor current's mean over every window of a time stays at or under a figure.",
		About: PartCurrent, Keys: []Key{keyOver}, Call: "mean current over {window} at most {current}",
		Unit: Microamperes, Sense: AtMost,
		Broken: TooMuch, Figure: "the mean current", Decided: "the window", Look: "how long the motor is driven against a load, and how soon it is driven again",
		make: func() body { return &average{} }},
	{Pattern: AverageOver, Name: "average current over", Means: "The motor current's mean over every window of a time stays at or over a figure.",
		About: PartCurrent, Keys: []Key{keyOver}, Call: "mean current over {window} at least {current}",
		Unit: Microamperes, Sense: AtLeast,
		Broken: TooLittle, Figure: "the mean current", Decided: "the window", Look: "the supply under load and the contacts in the motor's lead",
		make: func() body { return &average{over: true} }},
	{Pattern: ThermalLoad, Name: "thermal load under", Means: "The heat in a part that gate.yaml rates stays at or under a share of what the part stands for ever.",
		About: PartLoad, Keys: []Key{keyOf, keyBeginning}, Call: "thermal load of the {part} at most {load}",
		Unit: Millionths, Sense: AtMost,
		Broken: TooMuch, Figure: "the thermal load", Decided: "the hottest instant", Look: "the rests between drives: whether the controller counts what it has driven, and waits",
		make: func() body { return &heat{} }},
}

// Info gives the table's entry for the pattern; of a number that it does not have, one
// with nothing but a name.
func (p Pattern) Info() *PatternInfo {
	if p >= 1 && int(p) <= len(Patterns) {
		return &Patterns[p-1]
	}
	return &PatternInfo{Pattern: p, Name: fmt.Sprintf("pattern %d", uint8(p))}
}

// String is the pattern's published name.
func (p Pattern) String() string { return p.Info().Name }

// PatternNamed finds a pattern by its name.
func PatternNamed(name string) (Pattern, bool) {
	for i := range Patterns {
		if Patterns[i].Name == name {
			return Patterns[i].Pattern, true
		}
	}
	return 0, false
}

// Has says whether a rule of the pattern has something to say.
func (i *PatternInfo) Has(p Part) bool {
	if i.About == p {
		return true
	}
	for _, k := range i.Keys {
		if k.Part == p {
			return true
		}
	}
	return false
}
