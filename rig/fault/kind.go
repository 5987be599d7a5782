package fault

import (
	"fmt"
	"strings"
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

// A KindInfo is what there is to say of a kind of fault.
type KindInfo struct {
	Kind  Kind
	Name  string  // as files have it
	Needs Figures // the figures that must be given; no other may be
	Means string  // in one sentence
}

// Kinds is the table of all kinds, in the order of their numbers.
var Kinds = [...]KindInfo{
	{NeverMakes, "never makes", 0, "The line stays broken, whatever happens."},
	{StuckMade, "stuck made", 0, "The line is made from the start and stays so."},
	{StuckBroken, "stuck broken", 0, "The line is as it should be until it has broken once, and never makes again."},
	{Late, "late", By, "Each edge comes later."},
	{Early, "early", By, "Each edge comes earlier, but never before the one before it nor at the origin."},
	{Bounce, "bounces", For, "Each edge is followed by a burst of contact bounce, lasting up to the time given."},
	{Chatter, "chatters", Every | Gap, "While the line is made, the contact opens at the end of every period for a gap."},
	{Dropout, "drops out", By | For, "Each time the line has been made for a while, the contact opens for a time, and is then as it should be."},
	{Swapped, "swapped with", Other, "The line and another are exchanged."},
	{BreaksLate, "breaks late", By, "The line makes as it should and breaks later; made again by then, it does not break at all."},
	{BreaksEarly, "breaks early", By, "The line makes as it should and breaks earlier, but never before it made nor at the origin."},
	{BounceOff, "bounces on release", For, "Each breaking is followed by a burst of contact bounce, lasting up to the time given."},
	{Pulses, "pulses", By, "Once it has made, the line breaks after a time, and makes again only after it should have broken. From the start it is broken."},
	{Glitches, "glitches", Every | Gap, "In every period the line goes to its other level for a moment, from 1 µs up to a gap."},
	{Drifts, "drifts", By, "Each making comes later, by a time, than the one before it did."},
}

// Info gives the table's entry for the kind.
func (k Kind) Info() KindInfo {
	if k >= 1 && int(k) <= len(Kinds) {
		return Kinds[k-1]
	}
	return KindInfo{Kind: k, Name: fmt.Sprintf("fault %d", uint8(k))}
}

// String is the kind's name.
func (k Kind) String() string { return k.Info().Name }

// KindNamed finds a kind by its name.
func KindNamed(name string) (Kind, bool) {
	for _, info := range Kinds {
		if info.Name == name {
			return info.Kind, true
		}
	}
	return 0, false
}
