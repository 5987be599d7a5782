package main

// usualWords are those that every message and certificate uses, and no table of the program
// has: what each means here.
var usualWords = []struct{ word, means string }{
	{"trial", "A scenario performed once, from the supply's coming on to the end of its script."},
	{"run", "What one call of pintle run performs: each scenario one or more times. It has a name by date and time, and a verdict: the worst of its trials'."},
	{"scenario", "A script of what happens to the controller, and the rules that it is held to."},
	{"rule", "What the controller must do in a scenario, by one of the patterns that are listed here."},
	{"claim", "A promise of the controller's builder with a figure, in controller.yaml: it stops within 150 ms of a limit. Rules refer to it."},
	{"finding", "What one rule came to in one trial: the value measured, its uncertainty, the limit, the margin, the risk, the verdict."},
	{"line", "One wire between bench and controller. A limit or a button makes and breaks, as contacts do."},
	{"span", "The earliest and the latest instant at which a thing can have happened: nothing measured is a bare point."},
	{"uncertainty", "The number behind ±: how far the true value may lie from the measured one, at the coverage that bench.yaml states. pintle show RUN SCENARIO --budget tells what it is made of."},
	{"margin", "How far a value lies within its limit, or beyond it, at the end of its uncertainty that is nearer to being broken: so much is surely to spare."},
	{"risk", "The probability that the limit is broken all the same, given what was measured."},
	{"put to the test", "That what a rule asks about has happened in the trial. A rule that was never put to the test is no pass."},
	{"seed", "The number that all chance of a trial comes from: on a virtual bench the same seed gives the same trial."},
	{"logbook", "The file, or the database, that every run is kept in with its readings."},
	{"record", "The zip that pintle certify writes beside the certificate: files, findings and readings, signed, for pintle verify."},
	{"rehearsal", "A run on a virtual bench, with a simulated controller. It tries the files and says nothing of any hardware."},
	{"guard", "The bench's own protection, by bench.yaml: it takes the supply off at too much current, after too long a drive, or when the meter falls silent. No scenario can change it."},
}
