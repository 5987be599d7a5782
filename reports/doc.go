// Package reports holds what a run leaves behind as plain data, in the form that
// is written to records and read by every kind of report.
//
// A Run rests on files, is performed as trials and comes to findings. It holds no
// samples: the trace of a trial is fetched from wherever the run is kept, by the
// report that needs it. Every value is either an integer in a named unit or a
// text that somebody wrote, so that the same run gives the same bytes everywhere.
package reports
