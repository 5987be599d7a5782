package virtual

import "strings"

// A DefectInfo is a mistake that the built-in controller can be made with.
type DefectInfo struct {
	Name  string // as it is written in a Config
	Means string // what the controller then does
}

// A defect is one row of a table: all that it changes is in its habit.
type defect struct {
	DefectInfo
	habit func(h *habits)
}

// defects are all tables in one, each in its own file.
var defects = joined(runDefects, limitDefects, buttonDefects, beamDefects, currentDefects, supplyDefects)

func joined(tables ...[]defect) (all []defect) {
	for _, t := range tables {
		all = append(all, t...)
	}
	return all
}

// Defects is the table of all defects.
func Defects() []DefectInfo {
	infos := make([]DefectInfo, len(defects))
	for i, d := range defects {
		infos[i] = d.DefectInfo
	}
	return infos
}

func defectNamed(name string) (defect, bool) {
	for _, d := range defects {
		if d.Name == name {
			return d, true
		}
	}
	return defect{}, false
}

func defectNames() string {
	names := make([]string, len(defects))
	for i, d := range defects {
		names[i] = d.Name
	}
	return strings.Join(names, ", ")
}
