package livepage

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"pintle/reports"
	"pintle/reports/chart"
	"pintle/reports/compare"
	"pintle/reports/logbook"
	"pintle/reports/summary"
	"pintle/rig/rule"
)

// mostRuns is how many past runs are listed, the last ones.
const mostRuns = 200

// A pastRun is a line in the list of runs.
type pastRun struct {
	ID         string `json:"id"`
	Began      string `json:"began"`
	Verdict    string `json:"verdict"`
	Reason     string `json:"reason"`
	Controller string `json:"controller"`
	Scenarios  int    `json:"scenarios"`
	Trials     int    `json:"trials"`
}

func (s *Server) runs(w http.ResponseWriter, _ *http.Request) {
	entries, err := s.house.Log.Runs()
	if err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	all := []pastRun{}
	for i := len(entries) - 1; i >= 0 && len(all) < mostRuns; i-- {
		e := entries[i]
		r := pastRun{e.ID, e.Began.Format("2006-01-02 15:04:05Z"), e.Verdict.String(), e.Reason, e.Controller.Called(), e.Scenarios, e.Trials}
		if e.UnderWay {
			r.Verdict = "under way"
		}
		all = append(all, r)
	}
	answer(w, all)
}

// find gives the run that is named, or says that there is none.
func (s *Server) find(w http.ResponseWriter, name string) (*reports.Run, bool) {
	if len(name) > 64 {
		refuse(w, http.StatusBadRequest, "no run has so long a name")
		return nil, false
	}
	run, err := s.house.Log.Run(name)
	switch {
	case errors.Is(err, logbook.ErrNoRun), errors.Is(err, logbook.ErrAmbiguous):
		refuse(w, http.StatusNotFound, err.Error())
	case err != nil:
		refuse(w, http.StatusInternalServerError, err.Error())
	default:
		return run, true
	}
	return nil, false
}

// A whole is one run for the page.
type whole struct {
	ID        string         `json:"id"`
	Verdict   string         `json:"verdict"`
	Text      string         `json:"text"`
	Scenarios []pastScenario `json:"scenarios"`
}

type pastScenario struct {
	Name    string `json:"name"`
	Title   string `json:"title"`
	Verdict string `json:"verdict"`
	Says    string `json:"says"`
	Trials  int    `json:"trials"`
	Chart   bool   `json:"chart"`
}

// columnsOf is how many columns of text a page has room for; 80 where it does not say.
func columnsOf(r *http.Request) int {
	const least, usual = 40, 80
	n, err := strconv.Atoi(r.FormValue("columns"))
	if err != nil {
		return usual
	}
	return min(max(n, least), usual)
}

// one tells of a run.
func (s *Server) one(w http.ResponseWriter, r *http.Request) {
	run, ok := s.find(w, r.FormValue("run"))
	if !ok {
		return
	}
	var text bytes.Buffer
	if err := summary.Write(&text, run, summary.Options{Warned: true, Columns: columnsOf(r)}); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	out := whole{ID: run.ID, Verdict: run.Verdict.String(), Text: text.String(), Scenarios: []pastScenario{}}
	for i := range run.Scenarios {
		c := &run.Scenarios[i]
		says := summary.Sentence(c)
		if says == "" {
			says = c.Reason
		}
		out.Scenarios = append(out.Scenarios, pastScenario{c.Name, c.Title, c.Verdict.String(), says, len(c.Trials), len(c.Trials) > 0})
	}
	answer(w, out)
}

// chart draws a trial: the one that decided, or the one asked for.
func (s *Server) chart(w http.ResponseWriter, r *http.Request) {
	run, ok := s.find(w, r.FormValue("run"))
	if !ok {
		return
	}
	for i := range run.Scenarios {
		if c := &run.Scenarios[i]; c.Name == r.FormValue("scenario") {
			s.draw(w, run, c, r.FormValue("trial"))
			return
		}
	}
	refuse(w, http.StatusNotFound, "the run has no such scenario")
}

func (s *Server) draw(w http.ResponseWriter, run *reports.Run, c *reports.Scenario, number string) {
	trial, ok := reports.WorstTrial(c)
	for i := range c.Trials {
		if strconv.Itoa(c.Trials[i].Number) == number {
			trial = i
		}
	}
	if !ok {
		refuse(w, http.StatusNotFound, "the scenario has no trials in this run")
		return
	}
	t := &c.Trials[trial]
	trace, err := s.house.Log.Trace(run.ID, c.Name, t.Number)
	if err != nil {
		refuse(w, http.StatusNotFound, err.Error())
		return
	}
	o := chart.Options{Title: c.Title, Note: fmt.Sprintf("run %s, %s, trial %d", run.ID, c.Name, t.Number)}
	if f := telling(c, trial); f != nil {
		o.Finding, o.Rule = f, c.Rules[f.Rule]
	}
	var svg bytes.Buffer
	if err := chart.New(trace, o).SVG(&svg); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	send(w, "image/svg+xml", "", svg.Bytes())
}

// telling is the finding of a trial that a chart should show; none where the bench failed.
func telling(c *reports.Scenario, trial int) *rule.Finding {
	one := *c
	one.Trials = c.Trials[trial : trial+1]
	if _, f, ok := reports.Tightest(&one); ok && one.Trials[0].Verdict != rule.Void {
		return &one.Trials[0].Findings[f]
	}
	return nil
}

// two finds the two runs of a comparison.
func (s *Server) two(w http.ResponseWriter, r *http.Request) (*compare.Comparison, bool) {
	was, ok := s.find(w, r.FormValue("a"))
	if !ok {
		return nil, false
	}
	is, ok := s.find(w, r.FormValue("b"))
	if !ok {
		return nil, false
	}
	return compare.Compare(was, is, compare.Options{}), true
}

// compare tells what changed between two runs.
func (s *Server) compare(w http.ResponseWriter, r *http.Request) {
	c, ok := s.two(w, r)
	if !ok {
		return
	}
	var text bytes.Buffer
	if err := c.Text(&text, false, columnsOf(r)); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	answer(w, struct {
		Conclusion string `json:"conclusion"`
		Text       string `json:"text"`
	}{c.Conclusion(), text.String()})
}

// picture draws a comparison.
func (s *Server) picture(w http.ResponseWriter, r *http.Request) {
	c, ok := s.two(w, r)
	if !ok {
		return
	}
	var svg bytes.Buffer
	if err := c.SVG(&svg); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	send(w, "image/svg+xml", "", svg.Bytes())
}

// paper hands out one of a run's papers.
func (s *Server) paper(p Paper) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		run, ok := s.find(w, r.FormValue("run"))
		if !ok {
			return
		}
		var body bytes.Buffer
		if err := p.Write(&body, run); err != nil {
			refuse(w, http.StatusInternalServerError, err.Error())
			return
		}
		send(w, p.Media, p.Name+"-"+run.ID+"."+p.Ending, body.Bytes())
	}
}

// send answers with a document; one with a name is to be kept, not shown.
func send(w http.ResponseWriter, kind, name string, body []byte) {
	w.Header().Set("Content-Type", kind)
	if name != "" {
		w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	}
	_, _ = w.Write(body)
}
