// Package compare says what changed between two runs of one job.
//
// Pass or fail does not see a build whose stop times crept up by a third within the
// limit. So beside the verdicts the measured values themselves are compared, rule by
// rule: how far they have shifted (Hodges and Lehmann, with an interval), and whether
// chance alone would do that (Mann and Whitney, corrected over all rules after Holm).
// What could not be compared, or could not have been found with so few trials, is
// said as plainly as what was.
package compare
