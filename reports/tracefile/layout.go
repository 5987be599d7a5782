package tracefile

import (
	"github.com/parquet-go/parquet-go/deprecated"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"

	"pintle/rig/signal"
)

// Limits of a file. The writer refuses what the reader would.
const (
	MaxRows = 1 << 26 // of all kinds together; at 1 kHz some 18 hours

	pageRows   = 1 << 16
	groupRows  = 1 << 20
	maxDict    = 1 << 16 // different currents in one row group
	maxPage    = 64 << 20
	maxFooter  = 1 << 20
	maxTextLen = 1 << 16
	maxTexts   = 32 << 20 // of all marks together
)

// magic begins and ends every Parquet file.
const magic = "PAR1"

// formatName is the value of the metadata key formatKey.
const (
	formatKey  = "pintle.format"
	formatName = "trace 1"
)

// The columns in the order in which they stand in the file.
const (
	colKind = iota
	colEarly
	colWidth
	colLine
	colMade
	colCurrent
	colText
	columnCount
)

// columns tells what a column is.
var columns = [columnCount]struct {
	name     string
	typ      format.Type
	optional bool
}{
	{"kind", format.ByteArray, false},
	{"early_ns", format.Int64, false},
	{"width_ns", format.Int64, false},
	{"line", format.ByteArray, true},
	{"made", format.Boolean, true},
	{"current_uA", format.Int64, true},
	{"text", format.ByteArray, true},
}

// kind is what a row is of.
type kind uint8

const (
	kindLevel  kind = 0
	kindEdge   kind = 1
	kindMark   kind = 2
	kindEnd    kind = 3
	kindSample kind = 4
)

// kindNames are the names of the kinds as the file has them.
var kindNames = [...]string{"level", "edge", "mark", "end", "sample"}

// kindNamed finds a kind by its name.
func kindNamed(name string) (kind, bool) {
	for k, n := range kindNames {
		if n == name {
			return kind(k), true
		}
	}
	return 0, false
}

// schema is the file's schema, as its footer has it.
func schema() []format.SchemaElement {
	all := []format.SchemaElement{{Name: "trace", NumChildren: thrift.New[int32](columnCount)}}
	for _, c := range columns {
		e := format.SchemaElement{
			Name:           c.name,
			Type:           thrift.New(c.typ),
			RepetitionType: thrift.New(format.Required),
		}
		if c.optional {
			e.RepetitionType = thrift.New(format.Optional)
		}
		if c.typ == format.ByteArray {
			e.ConvertedType = thrift.New(deprecated.UTF8)
			e.LogicalType = format.LogicalType{Value: &format.StringType{}}
		}
		all = append(all, e)
	}
	return all
}

// metadata is the file's key-value metadata.
func metadata() []format.KeyValue {
	return []format.KeyValue{
		{Key: formatKey, Value: formatName},
		{Key: "origin", Value: "instants count from the origin of the trial on the bench's monotonic clock"},
		{Key: "units", Value: "early_ns and width_ns in nanoseconds, current_uA in microamperes, positive opening"},
	}
}

// eventRows is how many rows a trace has besides its samples.
func eventRows(t *signal.Trace) int {
	return signal.LineCount - 1 + len(t.Edges) + len(t.Marks) + 1
}
