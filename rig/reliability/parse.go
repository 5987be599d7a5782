package reliability

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ParsePlan reads what is to be demonstrated from text such as 95/95, 99/95 or
// 99.9/95: reliability FIRST, then confidence, both in per cent. The plan allows no
// failure. Each figure is written in decimal digits with at most one point, and lies
// above 1 and below 100: a smaller one is a proportion that was meant as per cent.
func ParsePlan(text string) (Plan, error) {
	first, second, ok := strings.Cut(text, "/")
	if !ok || strings.Contains(second, "/") {
		return Plan{}, fmt.Errorf("read a demonstration from %q: write reliability/confidence in per cent, reliability first, as in 95/95 or 99.9/95", text)
	}
	r, errR := percent("reliability (the first figure)", first)
	c, errC := percent("confidence (the second figure)", second)
	if err := errors.Join(errR, errC); err != nil {
		return Plan{}, fmt.Errorf("read a demonstration from %q (reliability/confidence in per cent, reliability first): %w", text, err)
	}
	return Plan{Reliability: r, Confidence: c}, nil
}

// percent reads a figure in per cent as a proportion, rounded once: 99.9/100 in
// binary is not 0.999.
func percent(what, text string) (float64, error) {
	if text == "" {
		return 0, fmt.Errorf("the %s is missing", what)
	}
	if strings.Trim(text, "0123456789.") != "" || strings.Count(text, ".") > 1 || strings.Trim(text, ".") == "" {
		return 0, fmt.Errorf("the %s is %q: it takes digits with at most one point", what, text)
	}
	p, err := strconv.ParseFloat(text+"e-2", 64)
	switch {
	case err != nil: // out of range
		return 0, fmt.Errorf("the %s is %q: %w", what, text, err)
	case p >= 1:
		return 0, fmt.Errorf("the %s is %s %%: no number of trials shows 100 %%", what, text)
	case p <= 0.01:
		return 0, fmt.Errorf("the %s is %s %%: figures are in per cent, as in 95 for 0.95", what, text)
	}
	return p, nil
}

// String writes the plan in the form that ParsePlan reads, reliability first,
// without the failures allowed.
func (p Plan) String() string { return inPercent(p.Reliability) + "/" + inPercent(p.Confidence) }

// inPercent writes a proportion in per cent with all its digits.
func inPercent(p float64) string {
	if !(p > 0 && p < 1) {
		return strconv.FormatFloat(p*100, 'g', -1, 64)
	}
	digits := strings.TrimPrefix(strconv.FormatFloat(p, 'f', -1, 64), "0.")
	for len(digits) < 2 {
		digits += "0"
	}
	whole := strings.TrimLeft(digits[:2], "0")
	if whole == "" {
		whole = "0"
	}
	if digits = digits[2:]; digits != "" {
		return whole + "." + digits
	}
	return whole
}
