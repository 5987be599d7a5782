package webreport

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/record"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

var update = flag.Bool("update", false, "write the golden file anew")

func pageOf(t require.TestingT, run *reports.Run, o Options) string {
	var b bytes.Buffer
	require.NoError(t, Write(&b, run, reportstest.Source{}, o))
	return b.String()
}

// An element is one of a page, with what is in it.
type element struct {
	name   string
	attr   map[string]string
	text   string
	inside []*element
}

// parse reads a page as strictly as XML is read.
func parse(t require.TestingT, page string) *element {
	d := xml.NewDecoder(strings.NewReader(page))
	root := &element{}
	stack := []*element{root}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		top := stack[len(stack)-1]
		switch k := token.(type) {
		case xml.StartElement:
			e := &element{name: k.Name.Local, attr: map[string]string{}}
			for _, a := range k.Attr {
				require.NotContains(t, e.attr, a.Name.Local, "attribute twice in %s", e.name)
				e.attr[a.Name.Local] = a.Value
			}
			top.inside = append(top.inside, e)
			stack = append(stack, e)
		case xml.CharData:
			for _, e := range stack {
				e.text += string(k)
			}
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
	require.Len(t, root.inside, 1)
	return root.inside[0]
}

func (e *element) all(name string) (found []*element) {
	for _, in := range e.inside {
		if name == "" || in.name == name {
			found = append(found, in)
		}
		found = append(found, in.all(name)...)
	}
	return found
}

// hold holds a page to what every page must be.
func hold(t require.TestingT, text string) *element {
	page := parse(t, text)
	ids := map[string]*element{}
	for _, e := range page.all("") {
		if id, ok := e.attr["id"]; ok {
			assert.NotContains(t, ids, id, "id twice")
			ids[id] = e
		}
		assert.NotEqual(t, "script", e.name)
		for name, value := range e.attr {
			assert.False(t, strings.HasPrefix(name, "on"), "%s in %s", name, e.name)
			switch name {
			case "href":
				assert.True(t, strings.HasPrefix(value, "#"), "reference %q", value)
			case "src", "srcset", "action", "data", "poster", "style", "xlink:href":
				assert.Fail(t, "attribute "+name+" of "+e.name)
			}
		}
	}
	for _, e := range page.all("a") {
		assert.Contains(t, ids, strings.TrimPrefix(e.attr["href"], "#"), "a link that leads nowhere")
	}
	for _, e := range page.all("") {
		for _, name := range []string{"aria-labelledby", "aria-describedby"} {
			if id, ok := e.attr[name]; ok && assert.Contains(t, ids, id) {
				assert.NotEmpty(t, strings.TrimSpace(ids[id].text), "%s %s is empty", name, id)
			}
		}
	}
	for _, e := range page.all("svg") {
		assert.Equal(t, "img", e.attr["role"])
		assert.Equal(t, "title", ids[e.attr["aria-labelledby"]].name)
		assert.Equal(t, "desc", ids[e.attr["aria-describedby"]].name)
	}
	for _, e := range page.all("table") {
		assert.Len(t, e.all("caption"), 1, "a table's caption")
		for _, h := range e.all("th") {
			assert.Contains(t, []string{"row", "col"}, h.attr["scope"], "a heading's scope")
		}
	}
	for _, name := range []string{"h1", "main", "header", "nav", "footer"} {
		assert.Len(t, page.all(name), 1, name)
	}
	level := 0
	for _, e := range page.all("") {
		if len(e.name) == 2 && e.name[0] == 'h' && e.name[1] >= '1' && e.name[1] <= '6' {
			now := int(e.name[1] - '0')
			assert.LessOrEqual(t, now, level+1, "heading %q skips a level", e.text)
			level = now
		}
	}
	style := page.all("style")
	require.Len(t, style, 1)
	assert.NotRegexp(t, regexp.MustCompile(`url\(|@import|expression|&`), style[0].text)
	return page
}

// Everything but the charts, which have golden files of their own.
func TestGolden(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, full(), nil, Options{}))
	const path = "testdata/full.html"
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "-update writes it")
	assert.Equal(t, string(want), b.String())
}

func TestPagesHoldTogether(t *testing.T) {
	for name, run := range map[string]*reports.Run{
		"mixed": reportstest.Mixed(), "sound": reportstest.Sound(), "many": reportstest.Many(20, 4), "empty": {}, "full": full(), "nameless": {Scenarios: []reports.Scenario{{}}},
	} {
		t.Run(name, func(t *testing.T) {
			text := pageOf(t, run, Options{})
			hold(t, text)
			assert.Equal(t, text, pageOf(t, run, Options{}), "written twice")
			assert.NotRegexp(t, `±\s`, regexp.MustCompile(`(?s)<svg.*?</svg>`).ReplaceAllString(text, ""), "no line breaks behind the sign of a doubt") // \s is none that holds
		})
	}
}

// Where there is a chart and where there is none, the page says so.
func TestCharts(t *testing.T) {
	run := reportstest.Many(20, 2)
	page := hold(t, pageOf(t, run, Options{}))
	assert.Len(t, page.all("svg"), 7, "the plots that have a trace")
	assert.Equal(t, 13, strings.Count(page.text, "cannot be shown"))
	var b bytes.Buffer
	require.NoError(t, Write(&b, run, nil, Options{}))
	assert.Empty(t, hold(t, b.String()).all("svg"))
}

// full is a run with everything that a page can tell.
func full() *reports.Run {
	run := reportstest.Mixed()
	run.LeftOut = []reports.LeftOut{{Name: "hall-backwards", Title: "The Hall sensor is turned round", Why: "the gate has no Hall sensor"}}
	run.Coverage = 954_500
	run.Deviations = []string{"Two scenarios of the job were not asked for."}
	run.Laboratory, run.At = reports.Laboratory{Name: "The yard's own workshop", Address: "Gullhaven"}, "the shed beside slip 2"
	run.Bench.LastCheck = "2031-04-08, fit"
	run.Bench.Finest = []reports.Reach{{Claim: "stop time", Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 150_000_000, Expanded: 1_300_000, Guard: 1_300_000}}
	run.Sources = []reports.Source{{Number: 1, Name: "sample interval", Distribution: "rectangular", Assumes: "a change is seen at the next reading"}}
	for i := range run.Scenarios {
		for j := range run.Scenarios[i].Trials[0].Findings {
			f := &run.Scenarios[i].Trials[0].Findings[j]
			if half := (f.Value.Most - f.Value.Least) / 2; f.Measured {
				f.Appraisal = &rule.Appraisal{Value: f.Value.Mid(), Standard: half * 2 / 3, Low: f.Value.Least, High: f.Value.Most, Broken: 21, Decision: "guarded acceptance: pass", Method: "linear",
					Lines: []rule.BudgetLine{{Source: 1, Width: max(1, half)}}}
			}
		}
	}
	for i := range run.Files {
		run.Files[i].Text = "title: A file of the job\n# with a line that is long enough to be pushed along, which a phone cannot show at once, however it is held\n"
	}
	return run
}

func TestSilenceIsNeverAPass(t *testing.T) {
	for _, v := range []rule.Verdict{rule.Unsettled, rule.Fail, rule.Inconclusive, rule.Void, 99} {
		run := &reports.Run{Verdict: v, Controller: reports.Controller{Claims: []reports.Claim{{Name: "x"}}}, Scenarios: []reports.Scenario{{Name: "s", Verdict: v, Rules: []reports.Rule{{Name: "r"}}}}}
		page := hold(t, pageOf(t, run, Options{}))
		for _, e := range page.all("span") {
			assert.NotContains(t, e.attr["class"], "pass", v)
		}
		assert.NotContains(t, strings.ToLower(page.all("title")[0].text), "pass")
		if v != rule.Fail {
			assert.Contains(t, page.text, "This is not a pass", v)
		}
	}
}

func TestWhatIsNoPassIsExplained(t *testing.T) {
	page := hold(t, pageOf(t, reportstest.Mixed(), Options{}))
	text := strings.Join(strings.Fields(page.text), " ")
	for _, want := range []string{"last edge on closed-limit: none", "Worth a look:", "too near to tell", "never put to the test", "the bench failed: the meter fell silent"} {
		assert.Contains(t, text, want)
	}
	sound := hold(t, pageOf(t, reportstest.Sound(), Options{}))
	assert.NotContains(t, sound.text, "Worth a look")
	for _, e := range sound.all("div") {
		assert.NotEqual(t, "diagnosis", e.attr["class"])
	}
}

func TestAnExcerptSaysSo(t *testing.T) {
	run := reportstest.Mixed()
	part, of := account.Excerpt(run, &run.Scenarios[0], &run.Scenarios[0].Trials[0])
	page := hold(t, pageOf(t, part, Options{Excerpt: of, Whole: run}))
	assert.Contains(t, page.text, "EXCERPT: trial 1 alone of scenario normal-cycle, of the 1\u00a0trial of it in run mixed-7f3a")
	digest, err := record.Digest(run)
	require.NoError(t, err)
	assert.Contains(t, page.text, digest, "of the whole run")
	assert.NotContains(t, page.text, "The closed limit never arrives")
}

// Texts come from files that anyone may have written.
func TestAnyTextStaysText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := func(n string) string {
			return rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{
				"</style><script>alert(1)</script>", `"><img src=x onerror=alert(1)>`, "javascript:alert(1)", "{{.}}", "<!--", "]]>", "</title>",
			})).Draw(t, n)
		}
		run := reportstest.Mixed()
		run.Scenarios = run.Scenarios[1:2]
		run.ID, run.Job, run.Place, run.Decision, run.Reason, run.Program = text("id"), text("job"), text("place"), text("decision"), text("reason"), text("program")
		run.Controller.Claims[0].Name, run.Controller.Claims[1].Means = text("claim"), text("means")
		run.Controller.Board, run.Bench.Description = text("board"), []string{text("further")}
		run.Files = append(run.Files, reports.File{Name: text("file"), Text: text("text")})
		run.LeftOut = []reports.LeftOut{{Name: text("left"), Title: text("title"), Why: text("why")}}
		s := &run.Scenarios[0]
		s.Title, s.Why, s.Reason = text("scenario"), text("what for"), text("came to")
		s.Rules[0].Name, s.Trials[0].Findings[0].Reason, s.Trials[0].Troubles = text("rule"), text("because"), []string{text("trouble")}
		var b bytes.Buffer
		if err := Write(&b, run, reportstest.Source{}, Options{}); err != nil {
			return // a text that no record can hold
		}
		page := plain.ReplaceAllString(b.String(), "?")
		hold(t, page)
	})
}

// plain is what HTML can hold in a text and XML cannot.
var plain = regexp.MustCompile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")

func BenchmarkPage(b *testing.B) {
	for name, run := range map[string]*reports.Run{"7x1": reportstest.Mixed(), "60x59": reportstest.Many(60, 59)} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			size := 0
			for b.Loop() {
				var out bytes.Buffer
				if err := Write(&out, run, every{}, Options{}); err != nil {
					b.Fatal(err)
				}
				size = out.Len()
			}
			b.ReportMetric(float64(size)/1e6, "MB")
		})
	}
}

// every has a trace for every scenario: those of the plots over and over.
type every struct{}

func (every) Trace(run, scenario string, trial int) (*signal.Trace, error) {
	return reportstest.Source{}.Trace(run, strings.TrimRight(scenario, "-0123456789"), trial)
}
