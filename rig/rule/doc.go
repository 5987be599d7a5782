// Package rule judges what was seen in a trial by real-time specification
// patterns: streaming monitors that read changes and samples in the order of
// time, settle as early as logic allows, and end in one Finding a rule.
//
// The patterns go by their published names: those of Dwyer, Avrunin and Corbett
// (ICSE 1999) without time and of Konrad and Cheng (ICSE 2005) with it, in the
// scopes of the former, and limits on a measured current beside them. Time is
// dense; a condition holds on half-open stretches of time, an event ("becomes")
// at single instants.
//
// Every change carries a span, so a measured duration is an interval, and where
// spans overlap the order of changes is not known. A verdict is given only where
// the whole interval and every order agree with it, and a rule that was never put
// to the test is inconclusive, never a pass.
package rule
