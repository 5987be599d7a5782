package certificate

// cautions are the limits of the whole: what a reader must not take it for.
var cautions = []string{
	"A moving gate can kill. Trials on a bench show what the controller did with the signals and the load that the bench gave it. " +
		"They do not replace the checks on the gate itself: forces, guarding, emergency release, wiring, and a trial of the whole.",
	"The results concern only the item tested, as it was identified above. They do not exclude a failure that no scenario provoked, " +
		"nor one that is rarer than the number of trials can show. The uncertainty stated is that of the measurement alone.",
	"This is not issued by an accredited laboratory, and certifies conformity with no standard. Local codes and regulations apply; " +
		"where they ask for a licensed person, the work and its acceptance are that person's.",
}

func (s *sheet) limits() {
	s.heading("What this does not say", 24)
	for i, c := range cautions {
		style := ""
		if i == 0 {
			style = "B"
		}
		s.paragraph(style, 8.2, ink, c)
		s.down(0.8)
	}
}

// signatures are blank lines for a name, a signature and a date, twice.
func (s *sheet) signatures() {
	const row = 12.0
	s.need(2*row - 0.1)
	for _, who := range []string{"performed by", "authorised for issue by"} {
		s.down(row - 4)
		y, x := s.GetY(), margin
		for _, col := range []struct {
			what string
			part float64
		}{{who + ": name", 0.40}, {"signature", 0.36}, {"date", 0.24}} {
			wide := col.part*s.width - 5
			if col.what == "date" {
				wide += 5
			}
			s.line(ink, 0.2, x, y, x+wide, y)
			s.text("", 7.5, faint)
			if !s.dry {
				s.Text(x, y+3.2, col.what)
			}
			x += col.part * s.width
		}
		s.SetXY(margin, y+4)
	}
}
