package certificate

import (
	"cmp"
	"fmt"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/typeface"
	"pintle/rig/wording"
)

// cautions are the limits of the whole: what a reader must not take it for. The first
// stands on page one.
var cautions = []string{
	"A moving gate can kill. Trials on a bench show what the controller did with the signals and the load that the bench gave it. " +
		"They do not replace the checks on the gate itself: forces, guarding, emergency release, wiring, and a trial of the whole.",
	"The results concern only the item tested, as it was identified on page 1. They do not exclude a failure that no scenario provoked, " +
		"nor one that is rarer than the number of trials can show. The uncertainty stated is that of the measurement alone.",
	"This is not issued by an accredited laboratory, and certifies conformity with no standard: it has room for what ISO/IEC 17025:2017 asks of a report, and claims no more. " +
		"Local codes and regulations apply; where they ask for a licensed person, the work and its acceptance are that person's.",
	"What the program cannot see it cannot say: whether the item on the bench was the one named on page 1, whether the bench was wired as its sheet shows, and whether what the customer supplied is true.",
}

// warning is what must stand beside the verdict.
func (s *sheet) warning() {
	s.down(1.5)
	s.paragraph("B", 7.8, ink, cautions[0])
	s.down(0.5)
	s.paragraph("", 7.8, ink, "Only the item tested. Not issued by an accredited laboratory; certifies conformity with no standard. What this does not say stands in full at the end.")
}

// close is the last part: by what rule and method, what was not done, and how anybody
// can check it.
func (s *sheet) close() {
	if s.left() < 120 {
		s.turn()
	} else {
		s.down(3)
	}
	s.text("", 8, ink)
	s.Bookmark("Method, and how to check this", 0, max(0, s.GetY()-5))
	s.part("Statement of conformity", s.conformity())
	s.part("Method", s.method())
	s.part("Additions, deviations, exclusions", s.deviations())
	s.checking()
	s.part("What this does not say", cautions)
}

func (s *sheet) part(title string, paragraphs []string) {
	s.heading(title, 16)
	for _, p := range paragraphs {
		s.paragraph("", 8, ink, p)
		s.down(0.7)
	}
}

// conformity is what ISO/IEC 17025:2017, 7.8.6, asks for: which results the statement
// is of, which specification is kept or not, and by what decision rule at what risk.
func (s *sheet) conformity() []string {
	r := s.run
	judged := 0
	for _, c := range s.cites {
		if c.Rules > 0 {
			judged++
		}
	}
	return []string{
		fmt.Sprintf("Results covered: those of %s of this run in %s, listed under Scenarios. Specification: the claims of the controller's builder in controller.yaml (%d of %d judged) "+
			"and the requirements written in the scenarios, each named there; the files are identified by their SHA-256 in the record. No other specification or standard is meant.",
			account.Count(account.Trials(r).All(), "trial"), account.Count(len(r.Scenarios), "scenario"), judged, len(s.cites)),
		"Decision rule: " + cmp.Or(r.Decision, "not stated") + " It is the one of bench.yaml, or the ordinary one where that names none, and is to be agreed with the customer before the run.",
		"Statistical assumptions: the inputs of the uncertainty are independent, with the distributions listed in the budgets; before the measurement nothing is known of the value. " +
			"The risk stated is that of a single decision about one value (specific risk, JCGM 106:2012), not that of the run as a whole.",
	}
}

func (s *sheet) method() []string {
	r := s.run
	list := []string{
		fmt.Sprintf("The bench plays the gate to the controller: it drives limit, sensor and button lines by script, and measures the motor current. Scripts and requirements are the scenario files in the record; "+
			"motor states and times are worked out from the readings, and each requirement is judged by a timing pattern. Performed by %s, seed %d, %s of each scenario asked for.", cmp.Or(r.Program, "a program not stated"), r.Seed, account.Count(r.Trials, "trial")),
		"Sampling: one item. How it was chosen the program does not know; nothing is said of others of its kind. External providers: none known to the program; whoever authorises this notes any here by hand.",
	}
	if r.Gate != "" {
		list = append(list, "The gate that the bench played: "+sentence(r.Gate))
	}
	if text := reports.Demonstrated(r); text != "" {
		list = append(list, "Reliability: "+text)
	}
	for _, f := range r.Files {
		if f.Name == "bench.yaml" || f.Name == "controller.yaml" || f.Name == "gate.yaml" {
			list = append(list, fmt.Sprintf("%s: SHA-256 %s", f.Name, f.SHA256))
		}
	}
	return list
}

// deviations say what differs from the method, and what was left out of it.
func (s *sheet) deviations() []string {
	r := s.run
	list := append([]string(nil), r.Deviations...)
	if n := len(r.LeftOut); n > 0 {
		list = append(list, fmt.Sprintf("%s of the set could not be performed in this job, and nothing is said of what would be tested by them: they are listed as not applicable, with the reasons.", wording.Upper(account.Count(n, "scenario"))))
	}
	if text := s.unjudged(); text != "" {
		list = append(list, text)
	}
	for _, w := range r.Warnings {
		list = append(list, "In the files of the job: "+sentence(w))
	}
	if asked, had := r.Trials*len(r.Scenarios), account.Trials(r).All(); had < asked && (r.Demonstration == nil || !r.Demonstration.Sequential) {
		list = append(list, fmt.Sprintf("%d of %d trials were not performed.", asked-had, asked))
	}
	if r.Reason != "" {
		list = append(list, "The run did not end in the ordinary way: "+sentence(r.Reason))
	}
	if len(r.Controller.Defects) > 0 {
		list = append(list, "Seeded on purpose into the simulated controller: "+strings.Join(r.Controller.Defects, ", ")+".")
	}
	if len(list) == 0 {
		list = append(list, "None recorded.")
	}
	return append(list, "Any others, by hand: "+strings.Repeat("_", 60))
}

// checking says how anybody can check the record that this belongs to.
func (s *sheet) checking() {
	s.heading("How to check this", 34)
	name := cmp.Or(s.told.Record, "record-"+s.run.ID+".zip")
	s.pairs(margin, s.width, 34, []pair{
		{"certificate", s.id, false},
		{"record file", name, false},
		{"root of the record", cmp.Or(s.told.Root, "no record file was made with this certificate: pintle certify "+s.run.ID+" makes one"), false},
		{"SHA-256 of the run", s.digest, false},
		{"public key ID", cmp.Or(s.told.Key, "none: the record is not signed, so it proves nothing of who made it"), false},
		{"with pintle", "pintle verify " + name + " --key KEY.pub", false},
		{"without it", "unzip " + name + "; sha256sum -c SHA256SUMS; sha256sum SHA256SUMS; minisign -Vm head.json -p KEY.pub", false},
	})
	s.down(0.8)
	s.paragraph("", 8, ink, "KEY.pub has to come from the laboratory by another way than this certificate, or whoever forged the one could have forged the other. "+
		"The digest of SHA256SUMS has to be the one that head.json gives as sums. The root hash in head.json and the verdict there must be those printed here and in the square code on page 1; pintle verify also works every verdict out again from the raw traces in the record. "+
		"A good signature shows that the record was signed with that key and not changed since. It shows neither who had the key, nor that the trials were done well.")
}

// signatures are blank lines for a name, a signature and a date, twice, and the code.
func (s *sheet) signatures() {
	const row, side = 12.0, 29.0
	s.need(side + 2)
	begin := s.GetY()
	wide := s.width - side - 5
	s.down(2)
	for _, who := range []string{"performed by", "authorised for issue by"} {
		s.down(row - 4)
		y, x := s.GetY(), margin
		date := "date"
		if strings.HasPrefix(who, "authorised") {
			date = "date of issue"
		}
		for _, col := range []struct {
			what string
			part float64
		}{{who + ": name", 0.42}, {"signature", 0.36}, {date, 0.22}} {
			s.line(ink, 0.2, x, y, x+col.part*wide-4, y)
			s.text("", 7.5, faint)
			if !s.dry {
				s.Text(x, y+3.2, col.what)
			}
			x += col.part * wide
		}
		s.SetXY(margin, y+4)
	}
	s.code(margin+s.width-side, begin, side)
	s.text("", 6.5, faint)
	if !s.dry {
		s.Text(margin, begin+side+0.4, s.clip("certificate "+typeface.Plain(s.id)+"; the square code holds this ID, the verdict, the root of the record and the key", wide))
	}
	s.SetXY(margin, begin+side+1)
}
