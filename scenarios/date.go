package scenarios

import (
	"fmt"
	"time"

	"pintle/scenarios/yamlfile"
)

// A Date is a day, such as 2031-04-08.
type Date struct{ yamlfile.Source }

// Set checks that there is such a day.
func (d *Date) Set(src yamlfile.Source, _ yamlfile.Field) []yamlfile.Problem {
	d.Source = src
	if _, err := time.Parse(time.DateOnly, src.Text); err != nil {
		return []yamlfile.Problem{{Text: fmt.Sprintf("%q is no day", yamlfile.Short(src.Text)), Hint: yamlfile.Expected("year-month-day, such as 2031-04-08")}}
	}
	return nil
}

// Shape describes the day.
func (Date) Shape(yamlfile.Field) yamlfile.Shape {
	return yamlfile.Shape{What: "a day", Pattern: `^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`}
}
