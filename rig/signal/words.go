package signal

// A Phrase is what can be said of a line.
type Phrase struct {
	Words string
	Event bool // it is said of the instant at which the level begins
	Level Level
}

// Phrases lists all that can be said of a line, in files and in texts: in its own words,
// and as made and broken, which every line understands.
func (l Line) Phrases() []Phrase {
	info := l.Info()
	all := []Phrase{{info.Made, false, Made}, {info.Broken, false, Broken}}
	if info.Makes != "makes" {
		all = append(all, Phrase{info.Makes, true, Made}, Phrase{info.Breaks, true, Broken})
	}
	all = append(all, Phrase{"makes", true, Made}, Phrase{"breaks", true, Broken})
	if info.Made != "made" {
		all = append(all, Phrase{"made", false, Made}, Phrase{"broken", false, Broken})
	}
	return all
}
