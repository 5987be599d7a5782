package evidence

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
)

// The entries that are in every record, and proof.json of an excerpt.
const (
	headName  = "head.json"
	signName  = "head.json.minisig"
	sumsName  = "SHA256SUMS"
	runName   = "run.json"
	proofName = "proof.json"
)

// A place is whose an entry is: that of a trial, or of its trace.
type place struct {
	scenario int    // from 1
	word     string // what the folder says of the scenario's name
	trial    int
	trace    bool
}

// name is the name of the entry.
func (p place) name() string {
	kind := "json"
	if p.trace {
		kind = "parquet"
	}
	return fmt.Sprintf("trials/%03d-%s/%04d.%s", p.scenario, p.word, p.trial, kind)
}

// compare gives the order of entries.
func (p place) compare(q place) int {
	kind := func(trace bool) int {
		if trace {
			return 1
		}
		return 0
	}
	return cmp.Or(cmp.Compare(p.scenario, q.scenario), cmp.Compare(p.trial, q.trial), kind(p.trace)-kind(q.trace))
}

// readPlace reads the name of an entry of a trial.
func readPlace(name string) (place, error) {
	bad := fmt.Errorf("%w: %q", ErrName, clip(name))
	rest, ok := strings.CutPrefix(name, "trials/")
	folder, file, ok2 := strings.Cut(rest, "/")
	number, w, ok3 := strings.Cut(folder, "-")
	trial, kind, ok4 := strings.Cut(file, ".")
	if !ok || !ok2 || !ok3 || !ok4 {
		return place{}, bad
	}
	p := place{word: w, trace: kind == "parquet"}
	var err, err2 error
	p.scenario, err = strconv.Atoi(number)
	p.trial, err2 = strconv.Atoi(trial)
	if err != nil || err2 != nil || p.scenario < 1 || p.trial < 1 || word(w) != w || p.name() != name {
		return place{}, bad
	}
	return p, nil
}

// word makes of a scenario's name what can stand in the name of a file anywhere. Two
// scenarios may have the same word: the number before it tells them apart.
func word(name string) string {
	const most = 60
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		if (r < 'a' || r > 'z') && (r < '0' || r > '9') {
			r = '-'
		}
		if b.Len() < most {
			b.WriteByte(byte(r))
		}
	}
	if b.Len() == 0 {
		return "scenario"
	}
	return b.String()
}

// known says that a name is one of those that an entry of a record may have.
func known(name string) bool {
	switch name {
	case headName, signName, sumsName, runName, proofName:
		return true
	}
	_, err := readPlace(name)
	return err == nil
}

// The most bytes that an entry may have. They leave room for a trial of a day, and
// none for a file that was made to fill a memory.
const (
	mostHead  = 1 << 16
	mostSign  = 1 << 12
	mostSums  = 1 << 28
	mostRun   = 1 << 24
	mostTrial = 1 << 22
	mostTrace = 1 << 29
	mostProof = 1 << 18
)

// most is the limit for an entry.
func most(name string) int64 {
	switch name {
	case headName:
		return mostHead
	case signName:
		return mostSign
	case sumsName:
		return mostSums
	case runName:
		return mostRun
	case proofName:
		return mostProof
	}
	if strings.HasSuffix(name, ".parquet") {
		return mostTrace
	}
	return mostTrial
}
