// Package reliability says how much a number of trials proves.
//
// In the order in which a qualification uses them: a Plan says how many trials
// demonstrate a reliability at a confidence, with how many failures allowed.
// ClopperPearson, LowerBound and UpperBound say what the trials that were made
// prove of a proportion. A Sequential test stops as soon as acceptance or
// rejection is decided, and knows its own error rates and its expected number of
// trials; a Comparison sets it beside the fixed plans. A Tolerance bounds a measured
// quantity by its order statistics (Wilks), a Quantile holds one between two of them.
// A Sequence sets what nature varies in each trial, more evenly than chance would;
// Chance sets it independently, which is what the other figures take for granted.
//
// Reliability here is the proportion of trials that pass, all trials being
// independent and alike; confidence is the probability, before the trials, that a
// controller of that reliability or a worse one does not pass the plan. Both are
// proportions, above 0 and below 1, everywhere but in text, where they are in per
// cent with the reliability FIRST: 99/95 is a reliability of 99 % at a confidence
// of 95 %.
//
// All bounds are the classic (frequentist) ones, without prior knowledge. Nothing
// in this package decides what a trial without a verdict is. A trial left out
// because of what it showed breaks every figure here: count it as failed, or give
// it to the functions that take a number of missing values.
//
// Whole numbers (trials, ranks, the lines of a sequential test), what a Sequence or
// Chance gives, and what a Sequential test tells of itself are the same on every
// machine. Other proportions come from the math package's logarithm and exponential,
// whose last bits differ between machines: round them to nine decimals or fewer
// before they are recorded.
package reliability
