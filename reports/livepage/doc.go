// Package livepage shows a bench at work in a browser.
//
// A run's worker is watched through a tap (a rig.Witness) which lays what it is told
// into a ring and never waits; what finds no room is counted and said. A hub takes it
// out thirty times a second, keeps the paper of the last hour, thinned, for those who
// come later, and passes batches on to every page as server-sent events. The page draws
// the strip chart itself; it is part of the binary, and asks nobody else for anything.
//
// A motor hangs on it, so there is a door (see Door): everything but the bare page needs
// a token in a header, which no other site can send; names and origins are checked, bodies,
// times and rates are bounded. Many may watch. One at a time operates, and taking over is
// an act of its own. To stop, no seat is needed: whoever has the page may stop the bench,
// at any rate, at any time.
//
// Instants on the paper count from the hub's beginning, trial after trial without the
// pauses between them; currents are in amperes, for looking at only.
package livepage
