// Package header knows the 40-pin connector of a Raspberry Pi.
package header
