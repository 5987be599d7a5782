package fault

import (
	"fmt"
	"strings"
	"time"

	"pintle/rig/signal"
)

// Figures is a set of the figures that a Fault may have, one bit each.
type Figures uint8

const (
	By    Figures = 1 << iota // Fault.By
	For                       // Fault.For
	Every                     // Fault.Every
	Gap                       // Fault.Gap
	Other                     // Fault.Other
)

// Has says whether all of the figures are in the set.
func (s Figures) Has(f Figures) bool { return s&f == f }

// String lists the figures, such as "By, For".
func (s Figures) String() string {
	var names []string
	for i, name := range [...]string{"By", "For", "Every", "Gap", "Other"} {
		if s.Has(1 << i) {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// A KindInfo is all that there is to say of a kind of fault: how a file writes it, what
// it does to a line, and how it is told.
type KindInfo struct {
	Kind Kind // a row's place in the table, counted from 1
	// Name is as files have it: the key that says what is wrong, with the time that is
	// the Main figure, or with the Other line; of a kind that has neither a key and
	// its word, such as never and makes.
	Name   string
	Needs  Figures       // the figures that must be given; no other may be
	Means  string        // in one sentence
	Told   string        // one fault of it; {line}, {other}, {by}, {for}, {every}, {gap} are put in
	Filled string        // of those with a Gap: what would become of the line if the gap filled its period
	Least  time.Duration // of the Gap
	Wire   bool          // it is interference on the wire, and not the contact's doing

	bend func(Fault, *signal.Timeline, random) // nil: Bend sees to it
}

// Main is the figure that a file gives with the kind's name; By where that has none.
func (k *KindInfo) Main() Figures {
	for _, f := range []Figures{Other, Gap, For} {
		if k.Needs.Has(f) {
			return f
		}
	}
	return k.Needs & By
}

// Kinds is the table of all kinds, in the order of their numbers, which are written into
// records: add at the end, never renumber.
var Kinds = [...]KindInfo{
	{Kind: NeverMakes, Name: "never makes", Means: "The line stays broken, whatever happens.",
		Told: "{line} never makes", bend: Fault.neverMake},
	{Kind: StuckMade, Name: "stuck made", Means: "The line is made from the start and stays so.",
		Told: "{line} is stuck made", bend: Fault.stayMade},
	{Kind: StuckBroken, Name: "stuck broken", Means: "The line is as it should be until it has broken once, and never makes again.",
		Told: "{line} is stuck broken once it has broken", bend: Fault.stayBroken},
	{Kind: Late, Name: "late", Needs: By, Means: "Each edge comes later by the time given.",
		Told: "{line} comes {by} late", bend: Fault.delay},
	{Kind: Early, Name: "early", Needs: By, Means: "Each edge comes earlier by the time given, but never before the one before it nor at the origin.",
		Told: "{line} comes {by} early", bend: Fault.hasten},
	{Kind: Bounce, Name: "bounces", Needs: For, Means: "Each edge is followed by a burst of contact bounce, lasting up to the time given.",
		Told: "{line} bounces for up to {for}", bend: Fault.bounce},
	{Kind: Chatter, Name: "chatters", Needs: Every | Gap, Means: "While the line is made, the contact opens for the time given at the end of every period.",
		Told: "{line} chatters while made, open for {gap} in every {every}", Filled: "the contact would never close", bend: Fault.chatter},
	{Kind: Dropout, Name: "drops out", Needs: By | For, Means: "Each time the line has been made for a while, the contact opens for the time given, and is then as it should be.",
		Told: "{line} drops out for {for}, {by} after it makes", bend: Fault.dropout},
	{Kind: Swapped, Name: "swapped with", Needs: Other, Means: "The line and another are exchanged.",
		Told: "{line} is swapped with {other}"},
	{Kind: BreaksLate, Name: "breaks late", Needs: By, Means: "The line makes as it should and breaks later by the time given; made again by then, it does not break at all.",
		Told: "{line} breaks {by} late", bend: Fault.breakLate},
	{Kind: BreaksEarly, Name: "breaks early", Needs: By, Means: "The line makes as it should and breaks earlier by the time given, but never before it made nor at the origin.",
		Told: "{line} breaks {by} early", bend: Fault.hastenBreaks},
	{Kind: BounceOff, Name: "bounces on release", Needs: For, Means: "Each breaking is followed by a burst of contact bounce, lasting up to the time given.",
		Told: "{line} bounces on release for up to {for}", bend: Fault.bounceOff},
	{Kind: Pulses, Name: "pulses", Needs: By, Means: "Once it has made, the line breaks after the time given, and makes again only after it should have broken; from the start it is broken.",
		Told: "{line} pulses for {by} where it should stay made", bend: Fault.pulse},
	{Kind: Glitches, Name: "glitches", Needs: Every | Gap, Means: "In every period the line goes to its other level for a moment, from 1 µs up to the time given.",
		Told: "{line} glitches for up to {gap} in every {every}", Filled: "the glitches would have no pause between them", Least: ShortestGlitch, Wire: true, bend: Fault.glitch},
	{Kind: Drifts, Name: "drifts", Needs: By, Means: "Each making comes later, by the time given, than the one before it did.",
		Told: "{line} drifts, making {by} later each time", bend: Fault.drift},
}

// Info gives the table's entry for the kind; of a number that it does not have, one with
// nothing but a name.
func (k Kind) Info() *KindInfo {
	if k >= 1 && int(k) <= len(Kinds) {
		return &Kinds[k-1]
	}
	return &KindInfo{Kind: k, Name: fmt.Sprintf("fault %d", uint8(k))}
}

// String is the kind's name.
func (k Kind) String() string { return k.Info().Name }

// KindNamed finds a kind by its name.
func KindNamed(name string) (Kind, bool) {
	for i := range Kinds {
		if Kinds[i].Name == name {
			return Kinds[i].Kind, true
		}
	}
	return 0, false
}
