package waveform_test

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A dumped is a value change dump read back by the rules of IEEE 1364, with
// nothing known of the writer.
type dumped struct {
	scale    string
	scopes   []string
	names    map[string]string // identifier to name
	width    map[string]int
	kind     map[string]string
	values   map[string][]string // name to "time=value"; at the dump of the origin the time is "dump" if none came before
	comments []string            // "time=text"
	end      int64
}

// parse reads a dump: words between blanks; sections from a keyword to $end;
// identifiers of any printable characters, # and $ among them; values of scalars
// joined to their identifier, those of vectors and reals before it.
func parse(text string) (*dumped, error) {
	d := &dumped{names: map[string]string{}, width: map[string]int{}, kind: map[string]string{}, values: map[string][]string{}, end: -1}
	words := strings.Fields(text)
	i := 0
	section := func() ([]string, error) {
		from := i
		for ; i < len(words); i++ {
			if words[i] == "$end" {
				i++
				return words[from : i-1], nil
			}
		}
		return nil, fmt.Errorf("a section has no $end")
	}
	declared := false
	for i < len(words) && !declared {
		keyword := words[i]
		i++
		body, err := section()
		if err != nil {
			return nil, err
		}
		switch keyword {
		case "$timescale":
			d.scale = strings.Join(body, "")
		case "$scope":
			d.scopes = append(d.scopes, body[1])
		case "$var":
			if len(body) < 4 {
				return nil, fmt.Errorf("a variable of %q", body)
			}
			if d.names[body[2]] != "" {
				return nil, fmt.Errorf("identifier %s is declared twice", body[2])
			}
			d.kind[body[2]], d.names[body[2]] = body[0], body[3]
			if d.width[body[2]], err = strconv.Atoi(body[1]); err != nil {
				return nil, err
			}
		case "$enddefinitions":
			declared = true
		case "$date", "$version", "$comment", "$upscope":
		default:
			return nil, fmt.Errorf("%q where a declaration must be", keyword)
		}
	}
	return d, d.changes(words[i:], declared)
}

// changes reads the part after the declarations.
func (d *dumped) changes(words []string, declared bool) error {
	if !declared {
		return fmt.Errorf("no $enddefinitions")
	}
	now, inDump := "dump", false
	set := func(id, value string) error {
		name := d.names[id]
		if name == "" {
			return fmt.Errorf("a value of %q, which was not declared", id)
		}
		d.values[name] = append(d.values[name], now+"="+value)
		return nil
	}
	for i := 0; i < len(words); i++ {
		w := words[i]
		var err error
		switch {
		case w == "$dumpvars":
			inDump = true
		case w == "$end" && inDump:
			inDump = false
		case w == "$comment":
			from := i + 1
			for i++; i < len(words) && words[i] != "$end"; i++ {
			}
			d.comments = append(d.comments, now+"="+strings.Join(words[from:i], " "))
		case w[0] == '#':
			at, e := strconv.ParseInt(w[1:], 10, 64)
			if err = e; err == nil && at <= d.end {
				err = fmt.Errorf("time %d after %d", at, d.end)
			}
			d.end, now = at, w[1:]
		case w[0] == 'b' && i+1 < len(words):
			err = set(words[i+1], extend(w[1:], d.width[words[i+1]]))
			i++
		case w[0] == 'r' && i+1 < len(words):
			if _, err = strconv.ParseFloat(w[1:], 64); err == nil {
				err = set(words[i+1], w[1:])
			}
			i++
		case strings.IndexByte("01xz", w[0]) >= 0:
			err = set(w[1:], w[:1])
		default:
			err = fmt.Errorf("%q is nothing that a dump has", w)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// extend makes a vector as wide as it was declared: with what it begins with, or 0
// where that is 1.
func extend(v string, width int) string {
	fill := v[:1]
	if fill == "1" {
		fill = "0"
	}
	return strings.Repeat(fill, max(0, width-len(v))) + v
}

// The decoder itself is held to the example with seven variables that is commonly
// printed with the format and restates the rules of IEEE 1364 (seen in texts about
// the standard, not in the standard): identifiers that are # and $, unknown values,
// a vector that is written short.
func TestDecoderReadsThePublishedExample(t *testing.T) {
	d, err := parse(`$date today $end
$version a generator $end
$comment some text $end
$timescale 1ps $end
$scope module logic $end
$var wire 8 # data $end
$var wire 1 $ data_valid $end
$var wire 1 % en $end
$var wire 1 & rx_en $end
$var wire 1 ' tx_en $end
$var wire 1 ( empty $end
$var wire 1 ) underrun $end
$upscope $end
$enddefinitions $end
$dumpvars
bxxxxxxxx #
x$
0%
x&
x'
1(
0)
$end
#0
b10000001 #
0$
1%
0&
1'
0(
0)
#2211
0'
#2296
b0 #
1$
#2302
0$
#2303
`)
	require.NoError(t, err)
	require.Equal(t, "1ps", d.scale)
	require.Equal(t, map[string][]string{
		"data":       {"dump=xxxxxxxx", "0=10000001", "2296=00000000"},
		"data_valid": {"dump=x", "0=0", "2296=1", "2302=0"},
		"en":         {"dump=0", "0=1"},
		"rx_en":      {"dump=x", "0=0"},
		"tx_en":      {"dump=x", "0=1", "2211=0"},
		"empty":      {"dump=1", "0=0"},
		"underrun":   {"dump=0", "0=0"},
	}, d.values)
	require.Equal(t, int64(2303), d.end)

	for _, bad := range []string{
		"$var wire 1 ! a $end $enddefinitions $end 1\"", // not declared
		"$enddefinitions $end #5 #4",                    // time runs back
		"$var wire 1 ! a $end $var wire 1 ! b $end $enddefinitions $end",
		"$var wire 1 ! a $end #0", "$enddefinitions $end 7!", "$version x",
	} {
		_, err := parse(bad)
		require.Error(t, err, bad)
	}
}

// sortedNames are the names of the variables that a dump declares.
func (d *dumped) sortedNames() []string {
	var all []string
	for _, n := range d.names {
		all = append(all, n)
	}
	sort.Strings(all)
	return all
}
