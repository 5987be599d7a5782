package reliability

import "math"

// A proportion that equals its limit but for this fraction of it keeps it. Figures
// come as decimals: 0.9² is 0.81 on paper and not in binary. It is also far above
// what differs between machines.
const tie = 1e-12

// atMost is p <= limit, with a tie counted as kept.
func atMost(p, limit float64) bool { return p <= float64(limit*(1+tie)) }

// lowerTail is the probability of at most k events in n trials, each of which has
// one with probability p and none with q = 1-p, both above 0.
func lowerTail(k, n int, p, q float64) float64 {
	switch {
	case k < 0:
		return 0
	case k >= n:
		return 1
	case float64(k) > float64(float64(n)*p):
		return 1 - outward(n-k-1, n, q, p)
	}
	return outward(k, n, p, q)
}

// upperTail is the probability of at least k events.
func upperTail(k, n int, p, q float64) float64 { return lowerTail(n-k, n, q, p) }

// outward adds up the terms from k down to 0, of which each is smaller than the
// one before where k is not above the mean: a small tail keeps all its digits.
func outward(k, n int, p, q float64) float64 {
	term := pmf(k, n, p, q)
	sum, odds := term, q/p
	for j := k; j > 0 && term > float64(sum*1e-18); j-- {
		term *= float64(float64(j)/float64(n-j+1)) * odds
		sum += term
	}
	return min(sum, 1)
}

// pmf is the probability of exactly k events, without the loss of digits that
// differences of log-factorials bring at large n (Loader, "Fast and accurate
// computation of binomial probabilities", 2000; from memory).
func pmf(k, n int, p, q float64) float64 {
	switch {
	case k == 0:
		return power(q, p, n)
	case k == n:
		return power(p, q, n)
	}
	x, y, all := float64(k), float64(n-k), float64(n)
	log := stirling(n) - stirling(k) - stirling(n-k) - deviance(x, float64(all*p)) - deviance(y, float64(all*q))
	return math.Exp(log) * math.Sqrt(all/(2*math.Pi*x*y))
}

// power is p to the n, where q = 1-p may say more of p than p itself.
func power(p, q float64, n int) float64 {
	if q < 0.5 {
		return math.Exp(float64(float64(n) * math.Log1p(-q)))
	}
	return math.Pow(p, float64(n))
}

// stirling is ln n! less Stirling's formula.
func stirling(n int) float64 {
	if n < len(stirlings) {
		return stirlings[n]
	}
	x := float64(n)
	x2 := float64(x * x)
	return (1.0/12 - (1.0/360-(1.0/1260-(1.0/1680-1.0/1188/x2)/x2)/x2)/x2) / x
}

// ln n! - ((n+½)·ln n - n + ½·ln 2π), computed with 50 digits.
var stirlings = [...]float64{
	0, 0.0810614667953272582196, 0.0413406959554092940938, 0.0276779256849983391487, 0.0207906721037650931115, 0.0166446911898211921631,
	0.0138761288230707479987, 0.0118967099458917700950, 0.0104112652619720964974, 0.0092554621827127329177, 0.0083305634333628712564,
	0.0075736754879518407949, 0.0069428401072095298656, 0.0064089941880042070684, 0.0059513701127588477356, 0.0055547335519628013710,
}

// deviance is x·ln(x/m) + m - x. Near m, where the logarithm loses digits, it is a
// series in (x-m)/(x+m).
func deviance(x, m float64) float64 {
	if math.Abs(x-m) >= 0.1*(x+m) {
		return float64(x*math.Log(x/m)) + m - x
	}
	v := (x - m) / (x + m)
	sum := float64((x - m) * v)
	term, v2 := float64(2*float64(x*v)), float64(v*v)
	for j := 3.0; ; j += 2 {
		term *= v2
		next := sum + term/j
		if next == sum {
			return sum
		}
		sum = next
	}
}

// falling finds where a decreasing function of a proportion comes down to a level,
// to the last bit: bisection runs over the bits of the proportion, so that a small
// one is found as exactly as a large one.
func falling(level float64, f func(p float64) float64) float64 {
	low, high := math.Float64bits(math.SmallestNonzeroFloat64), math.Float64bits(1)
	for high-low > 1 {
		mid := low + (high-low)/2
		if f(math.Float64frombits(mid)) >= level {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Float64frombits(low)
}
