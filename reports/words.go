package reports

import "pintle/rig/rule"

// ValueText is rule.Finding's.
func ValueText(f rule.Finding) string { return f.ValueText() }

// LimitText is rule.Finding's.
func LimitText(f rule.Finding) string { return f.LimitText() }

// MarginText is rule.Finding's.
func MarginText(f rule.Finding) string { return f.MarginText() }

// MarginWords is rule.Finding's.
func MarginWords(f rule.Finding) string { return f.MarginWords() }
