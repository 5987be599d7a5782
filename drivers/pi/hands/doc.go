// Package hands emits edges on time, in a process of its own.
//
// The conductor makes garbage, and a program that collects garbage is late. So the
// bench on the Pi has a second process of the same binary, the hands: one locked
// real-time thread that does nothing but emit edges at their instants, take sensed
// edges from the kernel and beat the heartbeat, and a second one that stamps what the
// meter says. Both processes share a piece of memory, the desk, on which the conductor
// lays out the future of each line ahead of time and the hands lay down what happened.
//
// The hands have a guard of their own: most current, longest drive, a meter or a
// conductor that falls silent. It takes the supply off and keeps it off until the
// hands are started anew; no scenario can reach it. When the conductor dies or asks
// for it, when a signal comes or something goes wrong, the supply falls first and all
// lines are released. When the hands themselves die or hang, the conductor kills what
// is left of them, takes the lines and does the same. If both are gone only the
// heartbeat tells: an external dead-man circuit has to take the supply off when it
// stops, because a computer alone cannot promise to.
package hands
