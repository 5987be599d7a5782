package lines

import (
	"errors"
	"fmt"
	"strings"
)

// ErrClosed says that lines were used after they had been given back.
var ErrClosed = errors.New("the lines are closed")

// ErrNoGPIO says that this machine has no GPIO chip, or cannot have one.
var ErrNoGPIO = errors.New("this machine has no GPIO chip")

// Held says that somebody else has a line.
type Held struct {
	Chip   string // such as "gpiochip0 (pinctrl-rp1)"
	Offset uint32
	Name   string // of the line, empty where it has none
	Holder string // as the kernel tells it, empty where it does not
}

// Error names the line and who has it.
func (h *Held) Error() string {
	who := "somebody whom the kernel does not name"
	if h.Holder != "" {
		who = fmt.Sprintf("%q", h.Holder)
	}
	what := fmt.Sprintf("line %d", h.Offset)
	if h.Name != "" {
		what += " (" + h.Name + ")"
	}
	return fmt.Sprintf("%s of %s is held by %s: end that program or driver, or wire another line", what, h.Chip, who)
}

// text reads a name that ends with a zero byte.
func text(b []byte) string {
	s, _, _ := strings.Cut(string(b), "\x00")
	return s
}
