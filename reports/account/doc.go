// Package account says what a run came to, in the words and the order that every
// kind of page tells it in.
//
// It judges nothing anew: it picks out of a run what says most about each claim,
// each scenario and each requirement, and puts verdicts into sentences. What was
// not judged is told as plainly as what was.
package account
