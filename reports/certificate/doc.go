// Package certificate puts a run on paper: a first page for the verdict and what it
// covers, then each scenario with its findings and the strip chart of its tightest
// trial.
//
// The same run gives the same bytes. Nothing is claimed that was not measured: what
// was inconclusive or void is said as plainly as what passed, a claim that no rule
// refers to is said to be that, and a rehearsal with a simulated controller
// says so on every page. What matters is said by word and shape as well as by
// colour, so that a copy in black and white says the same.
package certificate
