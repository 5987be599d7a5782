package certificate

import (
	"cmp"
	"fmt"

	"github.com/boombuler/barcode/qr"

	"pintle/reports/typeface"
)

// square is the text of the code on page one: enough to find the record that the
// certificate belongs to, and to see that verdict and record are those printed.
func (s *sheet) square() string {
	text := fmt.Sprintf("pintle certificate\nid %s\nrun %s\nverdict %v\n", brief(typeface.Plain(s.id)), brief(typeface.Plain(s.run.ID)), s.run.Verdict)
	if s.told.Root != "" {
		text += "root " + clipped(typeface.Plain(s.told.Root), 130) + "\n"
	} else {
		text += "sha256 of run " + s.digest + "\n"
	}
	if rehearsed(s.run) {
		text += "rehearsal\n"
	}
	return text + "key " + brief(cmp.Or(typeface.Plain(s.told.Key), "none")) + "\n"
}

// code draws the QR code (ISO/IEC 18004) as rectangles, with the four modules of white
// around it that the standard asks for.
func (s *sheet) code(x, y, side float64) {
	if s.dry {
		return
	}
	const quiet = 4
	c, err := qr.Encode(s.square(), qr.M, qr.Unicode)
	if err != nil {
		s.SetError(fmt.Errorf("QR code: %w", err))
		return
	}
	n := c.Bounds().Dx()
	module := side / float64(n+2*quiet)
	s.fill(white, x, y, side, side)
	dark := func(i, j int) bool { r, _, _, _ := c.At(i, j).RGBA(); return r < 0x8000 }
	for j := range n {
		for i := 0; i < n; {
			from := i
			for i < n && dark(i, j) {
				i++
			}
			if i > from { // a little higher than a module, so that no white line shows between two
				s.fill(ink, x+float64(from+quiet)*module, y+float64(j+quiet)*module, float64(i-from)*module, module+0.02)
			}
			if i == from {
				i++
			}
		}
	}
}
