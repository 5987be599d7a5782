package shift

// Smallest is the smallest two-sided P that samples of m and n values can have: of all
// ways to deal them out, two part them completely. Equal values can only make it
// greater (Test.Least). It is 1 if either has none.
func Smallest(m, n int) float64 {
	if m <= 0 || n <= 0 {
		return 1
	}
	return min(1, 2/choose(m+n, m))
}

// Fewest is the smallest number of trials a side with which one rule of so many
// could be found to differ at all, at the probability alpha that any is found
// wrongly. With fewer, even two builds without a trial in common pass for the same. It is
// 0 if there is no such number: without a rule, or with an alpha that is not above 0.
func Fewest(rules int, alpha float64) int {
	if rules < 1 || !(alpha > 0) {
		return 0
	}
	n := 1
	for !Reachable(n, n, rules, alpha) {
		n++
	}
	return n
}

// Reachable says whether samples of m and n values could show a difference in one of
// so many rules, at the probability alpha that any is found wrongly.
func Reachable(m, n, rules int, alpha float64) bool {
	return float64(float64(rules)*Smallest(m, n)) <= alpha
}
