// Package tracefile keeps one signal.Trace as one Apache Parquet file.
//
// # What is in a file
//
// One table, one row for each thing that was seen:
//
//	column      type             null  what it holds
//	kind        string           no    level, edge, mark, end or sample
//	early_ns    int64            no    earliest instant, nanoseconds from the origin of the trial
//	width_ns    int64            no    latest instant less the earliest, nanoseconds
//	line        string           yes   of level and edge: the line's name, such as open-limit
//	made        boolean          yes   of level and edge: the line is made (true) or broken (false)
//	current_uA  int64            yes   of sample: the current in microamperes, positive opening
//	text        string           yes   of mark: the remark
//
// A level is what a line had at the origin: one row for each line, in the order of
// the lines' numbers. The end row tells up to when the trial was watched. Rows come
// in the order of kinds given above, each kind in the order in which the trace had
// it. So a reader of tables needs no more than
//
//	SELECT early_ns, current_uA FROM 'trace.parquet' WHERE kind = 'sample'
//
// # How it is laid out
//
// Samples have row groups of their own, of up to 1048576 rows in pages of 65536;
// all other rows come before them. early_ns and width_ns are DELTA_BINARY_PACKED;
// current_uA is RLE_DICTIONARY, or DELTA_BINARY_PACKED where a row group has more
// than 65536 different values; kind and line are RLE_DICTIONARY; made and text are
// PLAIN. Data pages are of version 1, compressed by Zstandard, and carry a CRC-32.
// There are no statistics or indexes, and nothing of the time or the machine, so
// the same trace gives the same bytes.
//
// The file's key-value metadata has pintle.format (the name and version of this
// layout, "trace 1"), and origin and units in words.
//
// # What is read
//
// The reader takes files of this layout only, and takes them for hostile: it
// trusts no count before the bytes that it speaks of are there, holds memory
// within what the rows that it has really read need, and gives an error, never a
// panic. It does not judge whether a trace makes sense.
//
// The published description of the format is that of the Apache Parquet project
// (parquet-format 2.x). The pages are put together here, from the encodings of
// github.com/parquet-go/parquet-go, because nearly all columns of nearly all rows
// are constant or null and cost nothing when they are written as such.
package tracefile
