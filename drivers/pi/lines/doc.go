// Package lines drives and senses the lines of a GPIO chip by the Linux kernel's
// GPIO character device.
//
// It speaks version 2 of that interface (Linux 5.10 and later; the kernel's
// Documentation/userspace-api/gpio and include/uapi/linux/gpio.h). Outputs are
// asked for together with the levels that they begin with, so that no false edge
// appears. Sensed edges carry the kernel's own instant on CLOCK_MONOTONIC, and its
// sequence numbers tell of edges that were lost. Once opened, neither allocates.
//
// Levels are logical: of an active-low line, true is the low voltage.
package lines
