package derive

// Where the figures come from that are not the user's own.
const (
	fromMargin  = "margin of 25 %: common practice, no source"
	fromHeating = "heating: IEC 60255-149, thermal replica fitted to the two points of the rating"
	fromReverse = "2 s: 16 CFR 1211.7, reversal begins within 2 s of contact with an obstruction"
	fromCopper  = "copper: 0.393 % a kelvin at 20 °C, IEC 60028"
	fromWinding = "winding 80 K warmer: common practice, no source"
	fromDecay   = "five time constants: e^-5 = 0.7 % of the current is left"
	fromMotor   = "motor: V = E + I R, standing still E = 0"
	fromLoops   = "two looks: a change may just miss the first"
	fromNoise   = "100 µs of interference on long wires: common practice, no source"
	fromSlow    = "half as long again when cold: common practice, no source"
	fromNothing = "100 ms without current at a start: common practice, no source"
	fromTell    = "100 ms to tell a stall: common practice, no source"
	fromPatient = "500 ms before somebody presses again: common practice, no source"
	fromBudget  = "sum of the times proposed here"
	fromMagnet  = "pulse: length of the magnet's field over the speed of the rim"
	fromHops    = "hops: a mass thrown up, closed form of any textbook of mechanics"
	fromCoast   = "coast at a constant deceleration"
)

const (
	margin      = 1.25
	reversal    = 2.0     // s, 16 CFR 1211.7
	copper      = 0.00393 // per K, IEC 60028
	warmWinding = 80.0    // K
	noise       = 100e-6  // s
	noCurrent   = 100e-3  // s
	patience    = 500e-3  // s
	tell        = 100e-3  // s
	slower      = 1.5     // cold against usual, where it is not given
)
