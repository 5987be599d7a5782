package typeface

import (
	"encoding/binary"
	"fmt"
	"strings"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// Family is what the typeface is called in a document.
const Family = "sans"

// Add gives a document the typeface, upright and bold.
func Add(doc *fpdf.Fpdf) {
	doc.AddUTF8FontFromBytes(Family, "", liberationsansregular.TTF)
	doc.AddUTF8FontFromBytes(Family, "B", liberationsansbold.TTF)
}

// covered are the characters that the typeface has a picture of.
var covered = sync.OnceValue(func() map[rune]bool { return charactersOf(liberationsansregular.TTF) })

// Plain makes a text fit for one line of print: white space becomes single spaces,
// control characters go, and a character without a picture is written as its code,
// so that nothing vanishes unseen from a document that somebody signs.
func Plain(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch {
		case r == '\u00a0' || r == '\u202f':
			b.WriteRune('\u00a0')
		case r <= ' ' || r == '\u0085' || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		case r >= 0x7f && r < 0xa0 || r == '\u00ad' || r >= 0x200b && r <= 0x200f || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == '\ufeff':
		case covered()[r]:
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "[U+%04X]", r)
		}
	}
	return strings.Join(strings.FieldsFunc(b.String(), func(r rune) bool { return r == ' ' }), " ")
}

// charactersOf reads the characters of a TrueType font from its segment mapping,
// which is format 4 of the table cmap in ISO/IEC 14496-22. A font without one has
// none.
func charactersOf(font []byte) map[rune]bool {
	have := map[rune]bool{}
	cmap := tableOf(font, "cmap")
	if len(cmap) < 4 {
		return have
	}
	for i := range int(word(cmap, 2)) {
		at := int(binary.BigEndian.Uint32(cmap[4+8*i+4:]))
		if word(cmap, at) == 4 {
			addSegments(have, cmap[at:])
		}
	}
	return have
}

func addSegments(have map[rune]bool, m []byte) {
	twice := int(word(m, 6))
	ends, starts := 14, 16+twice
	deltas, offsets := starts+twice, starts+2*twice
	for s := 0; s < twice; s += 2 {
		start, end := int(word(m, starts+s)), int(word(m, ends+s))
		for c := start; c <= end && c < 0xffff; c++ {
			glyph := uint16(c)
			if offset := int(word(m, offsets+s)); offset != 0 {
				if glyph = word(m, offsets+s+offset+2*(c-start)); glyph == 0 {
					continue
				}
			}
			if glyph+word(m, deltas+s) != 0 {
				have[rune(c)] = true
			}
		}
	}
}

// tableOf finds a table of a font by its tag.
func tableOf(font []byte, tag string) []byte {
	for i := range int(word(font, 4)) {
		entry := font[12+16*i:]
		if string(entry[:4]) == tag {
			at, long := binary.BigEndian.Uint32(entry[8:]), binary.BigEndian.Uint32(entry[12:])
			return font[at : at+long]
		}
	}
	return nil
}

func word(b []byte, at int) uint16 { return binary.BigEndian.Uint16(b[at:]) }
