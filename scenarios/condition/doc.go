// Package condition reads conditions as people write them, such as "motor
// closing", "closed-limit makes" or "current above claim stall current".
//
// A condition is either a state, which holds over stretches of time, or an event,
// which is the instant at which a state comes to hold. Words tell them apart:
// adjectives name states (motor closing, remote pressed, closed-limit made), verbs
// in the present tense name events (motor starts closing, remote is pressed,
// closed-limit makes, current rises above 12A). States are joined by and, or, not
// and parentheses; events only by or, because two instants hardly ever coincide.
// Several events joined by or are one event: the instant at which the first of
// them comes to hold while none of the others does.
package condition
