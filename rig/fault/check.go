package fault

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"pintle/rig/signal"
)

// longest keeps every bent instant far inside the range of an Instant.
const longest = 24 * time.Hour

// Check reports every mistake in the fault, each naming its field.
func (f Fault) Check() error {
	var mistakes []error
	wrong := func(ok bool, format string, args ...any) {
		if !ok {
			mistakes = append(mistakes, fmt.Errorf(format, args...))
		}
	}
	info := f.Kind.Info()
	wrong(info.Means != "", "Kind: %d is no kind of fault", uint8(f.Kind))
	wrong(bendable(f.Line), "Line: %v is no line that a fault can be on", f.Line)
	for _, d := range f.durations() {
		needed := info.Needs.Has(d.figure)
		wrong(needed || d.value == 0 || info.Means == "", "%v: is of no use to a line that %v", d.figure, info.Name)
		wrong(!needed || d.value > 0 && d.value <= longest, "%v: %v must be above zero and at most %v", d.figure, d.value, longest)
	}
	if info.Needs.Has(Gap) {
		wrong(f.Gap < f.Every, "Gap: %v must be shorter than Every, %v", f.Gap, f.Every)
		wrong(f.Gap >= info.Least, "Gap: %v must be at least %v", f.Gap, info.Least)
	}
	if info.Needs.Has(Other) {
		wrong(bendable(f.Other), "Other: %v is no line that a fault can be on", f.Other)
		wrong(f.Other != f.Line, "Other: %v cannot be swapped with itself", f.Other)
	} else {
		wrong(f.Other == signal.NoLine || info.Means == "", "Other: is of no use to a line that %v", info.Name)
	}
	return errors.Join(mistakes...)
}

type duration struct {
	figure Figures
	value  time.Duration
}

func (f Fault) durations() [4]duration {
	return [...]duration{{By, f.By}, {For, f.For}, {Every, f.Every}, {Gap, f.Gap}}
}

// bendable says that a fault can be on the line: the bench drives it, and it is
// not the bench's own sign of life.
func bendable(l signal.Line) bool { return l.Info().Driven && l != signal.Heartbeat }

// String tells the fault in words, such as "closed-limit comes 200ms late".
func (f Fault) String() string {
	told := f.Kind.Info().Told
	if told == "" {
		return fmt.Sprintf("%v has %v", f.Line, f.Kind)
	}
	return strings.NewReplacer("{line}", f.Line.String(), "{other}", f.Other.String(),
		"{by}", f.By.String(), "{for}", f.For.String(), "{every}", f.Every.String(), "{gap}", f.Gap.String()).Replace(told)
}
