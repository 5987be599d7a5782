// Package appraise judges each measured value by how far it can be trusted.
//
// A rule measures a value between two instants. What is uncertain about it comes
// from what the bench measures with: a meter that looks only so often, averages
// over a window and speaks some time later, a line whose change is known within a
// bracket, a clock that runs fast or slow. Each is one line of a budget after JCGM
// 100:2008; the interval that the budget gives, and a decision rule after JCGM
// 106:2012, make the verdict.
//
// What is assumed is written beside each source of uncertainty in Sources, and goes
// into the record with it.
package appraise
