package outline

// Format is the number of this form.
const Format = "pintle summary 1"

// An Outline is what a run came to.
type Outline struct {
	Format     string     `json:"format" const:"pintle summary 1"`
	Run        string     `json:"run" doc:"the run's name in the logbook"`
	Verdict    string     `json:"verdict" enum:"pass,fail,inconclusive,void,unsettled" doc:"of the whole run; only pass is a pass"`
	Reason     string     `json:"reason,omitempty" doc:"of a run that did not end in the ordinary way"`
	Covers     string     `json:"covers" doc:"what the verdict is of, in words"`
	Rehearsal  bool       `json:"rehearsal" doc:"the controller was simulated: nothing is said of any hardware"`
	Excerpt    string     `json:"excerpt,omitempty" doc:"the part of the run that alone is told here, verdict and counts included"`
	Began      string     `json:"began,omitempty" doc:"RFC 3339, UTC"`
	Ended      string     `json:"ended,omitempty" doc:"RFC 3339, UTC"`
	Program    string     `json:"program"`
	Job        string     `json:"job"`
	Place      string     `json:"place"`
	Gate       string     `json:"gate"`
	Controller Controller `json:"controller"`
	Bench      Bench      `json:"bench"`
	Seed       string     `json:"seed" doc:"a whole number; as text, for it may be more than a number of JSON can hold"`
	TrialsEach int        `json:"trials_each" doc:"of each scenario, as asked for"`
	Decision   string     `json:"decision" doc:"the decision rule"`
	SHA256     string     `json:"record_sha256" doc:"of the whole run in canonical JSON (RFC 8785)"`
	Scenarios  Counts     `json:"scenario_counts"`
	Trials     Counts     `json:"trial_counts"`
	Claims     []Claim    `json:"claims"`
	Performed  []Scenario `json:"scenarios"`
	Deviations []string   `json:"deviations" doc:"in what the run differs from all that its job asks for, a sentence each"`
	LeftOut    []LeftOut  `json:"left_out" doc:"does not apply: nothing is said of what these would test"`
	Not        []LeftOut  `json:"not_performed" doc:"could have been performed: nothing is said of what these would test"`
	Warnings   []string   `json:"warnings" doc:"what looks like a mistake in the files of the job, a sentence each"`
}

// A Controller is what was put to the test.
type Controller struct {
	Board    string `json:"board"`
	Maker    string `json:"maker"`
	Serial   string `json:"serial"`
	Firmware string `json:"firmware"`
	Digest   string `json:"firmware_digest"`
	DigestOf string `json:"firmware_digest_of,omitempty" doc:"name of the file that the program worked the digest out from; left out where the digest was told"`
}

// A Bench is what it was put to the test on.
type Bench struct {
	Name      string `json:"name"`
	Virtual   bool   `json:"virtual" doc:"time was simulated"`
	Simulated bool   `json:"simulated" doc:"the controller was"`
	Meter     string `json:"meter"`
}

// Counts are how many there are of each verdict.
type Counts struct {
	All          int `json:"all"`
	Pass         int `json:"pass"`
	Fail         int `json:"fail"`
	Inconclusive int `json:"inconclusive"`
	Void         int `json:"void"`
	Unsettled    int `json:"unsettled"`
}

// A Claim is a promise of the controller's builder, with the worst that any rule
// that refers to it came to.
type Claim struct {
	Name     string   `json:"name"`
	Figure   string   `json:"figure" doc:"as written, such as 150ms"`
	Verdict  string   `json:"verdict" enum:"pass,fail,inconclusive,void,unsettled,not judged" doc:"not judged where no rule refers to the claim"`
	Rules    int      `json:"rules" doc:"that refer to it"`
	Scenario string   `json:"scenario,omitempty" doc:"that says most about it"`
	Finding  *Finding `json:"finding,omitempty" doc:"that says most about it"`
}

// A Scenario is what its trials came to.
type Scenario struct {
	Name        string       `json:"name"`
	Title       string       `json:"title"`
	Verdict     string       `json:"verdict" enum:"pass,fail,inconclusive,void,unsettled"`
	Reason      string       `json:"reason,omitempty"`
	Trials      Counts       `json:"trial_counts"`
	Reliability *Reliability `json:"reliability,omitempty" doc:"that the trials show"`
	Findings    []Finding    `json:"findings" doc:"for each requirement the one that says most, over all trials"`
}

// Reliability is the share of trials that pass.
type Reliability struct {
	AtLeast    int64 `json:"at_least_millionths" doc:"lower bound"`
	Confidence int64 `json:"confidence_millionths"`
}

// A Finding is what one requirement measured in the trial that says most about it.
type Finding struct {
	Requirement string   `json:"requirement"`
	Pattern     string   `json:"pattern"`
	Claims      []string `json:"claims"`
	Verdict     string   `json:"verdict" enum:"pass,fail,inconclusive,void,unsettled"`
	Reason      string   `json:"reason,omitempty"`
	Trial       int      `json:"trial,omitempty" doc:"left out where nothing was found"`
	TrialSeed   string   `json:"trial_seed,omitempty"`
	Exercised   int      `json:"exercised" doc:"how often the requirement was put to the test"`
	Time        *Figures `json:"time_ns,omitempty" doc:"in nanoseconds"`
	Current     *Figures `json:"current_uA,omitempty" doc:"in microamperes"`
	Count       *Figures `json:"count,omitempty" doc:"in times"`
	Load        *Figures `json:"thermal_load_millionths,omitempty" doc:"in millionths of what the part can bear"`
	Broken      *int64   `json:"risk_millionths,omitempty" doc:"probability that the limit is broken, given the value; left out where it was not worked out"`
}

// Figures are a measured value with its limit, in the unit that their name gives.
type Figures struct {
	Value  int64  `json:"value" doc:"best estimate"`
	Low    int64  `json:"low" doc:"end of the coverage interval"`
	High   int64  `json:"high" doc:"end of the coverage interval"`
	Beyond bool   `json:"more_than,omitempty" doc:"the value is more than that, and the margin less: it had not ended when it was judged"`
	Limit  *int64 `json:"limit,omitempty"`
	Side   string `json:"limit_is,omitempty" enum:"at most,at least"`
	Margin *int64 `json:"margin,omitempty" doc:"what is left to the limit in the worst case that the interval allows; below zero where that case breaks it"`
}

// A LeftOut is a scenario of the job that is not in the run.
type LeftOut struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Why   string `json:"why"`
}
