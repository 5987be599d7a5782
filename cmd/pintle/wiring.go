package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/spf13/cobra"

	"pintle/drivers/pi/hands"
	"pintle/reports/wiring"
	"pintle/rig/signal"
	"pintle/scenarios"
)

func wiringCommand(a *app) *cobra.Command {
	var svg, pdf string
	var letter bool
	c := &cobra.Command{
		Use:   "wiring [DIR]",
		Short: "the sheet to wire the bench up by: table, drawing, cautions",
		Long: `Prints how the lines of bench.yaml go from the pins of the bench's connector to the
controller, the dead-man circuit in general terms, and what to be careful of. --svg and
--pdf write the drawing. What is wired wrongly in the file is told instead.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			job, err := loadJob(dir)
			if err != nil {
				return err
			}
			sheet := wiringSheet(job)
			if svg != "" {
				if err := write(svg, sheet.SVG); err != nil {
					return err
				}
			}
			if pdf != "" {
				if err := write(pdf, func(w io.Writer) error { return sheet.PDF(w, wiring.Options{Letter: letter}) }); err != nil {
					return err
				}
			}
			return sheet.Text(a.out, columns(a.out))
		},
	}
	f := c.Flags()
	f.StringVar(&svg, "svg", "", "write the drawing to `FILE` as well")
	f.StringVar(&pdf, "pdf", "", "write the sheet to `FILE` as a document as well")
	f.BoolVar(&letter, "letter", false, "paper of 8.5 by 11 inches in place of A4")
	return c
}

// wiringSheet gives the sheet what the bench file says.
func wiringSheet(job *scenarios.Job) *wiring.Sheet {
	b := &job.Bench
	s := &wiring.Sheet{Title: job.Title, Place: job.Place, Meter: meterWords(job), Edge: hands.UsualBeat,
		InUse: slices.Sorted(maps.Keys(b.PartsInUse()))}
	for _, f := range job.Files {
		if f.Name == "bench.yaml" {
			sum := sha256.Sum256(f.Text)
			s.Digest = hex.EncodeToString(sum[:])
		}
	}
	for _, e := range b.Lines {
		l, ok := signal.LineNamed(e.Name.Text)
		if !ok {
			continue
		}
		v := e.Value
		s.Wires = append(s.Wires, wiring.Wire{Line: l, Pin: v.Pin.At, Power: scenarios.SwitchesPower(l), ActiveLow: v.Active.Text == "low", OpenDrain: v.Drive.Text == "open drain",
			NormallyClosed: v.Contact.Text == "normally closed", Pull: v.Pull.Text, Through: b.WiredThrough(l),
			Voltage: v.Voltage.Text, Volts: v.Voltage.Value, Connector: v.Connector.Text, Note: v.Note.Text})
	}
	return s
}

// meterWords say where the meter is.
func meterWords(job *scenarios.Job) string {
	if serial := job.Bench.Meter.Serial; serial != nil {
		return fmt.Sprintf("meter at %s, %d bits per second", serial.Port.Text, serial.Baud.Value)
	}
	return "meter simulated"
}
