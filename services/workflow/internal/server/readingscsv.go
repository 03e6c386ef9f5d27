package server

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wallclock"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// ImportReadings implements ClimateService.
func (s *Server) ImportReadings(ctx context.Context, r *workflowv1.ImportReadingsRequest) (*workflowv1.ImportReadingsResponse, error) {
	word, err := readZone("zone", r.Zone)
	if err != nil {
		return nil, err
	}
	readings, err := s.readCSV(word, r.Csv)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*workflowv1.ImportReadingsResponse, error) {
		repeats, err := s.record(ctx, tx, readings)
		return &workflowv1.ImportReadingsResponse{Recorded: int32(len(readings) - repeats), Duplicates: int32(repeats)}, err
	})
}

// mostLines is how many lines a table may have.
const mostLines = 50_000

// table reads a table of readings line by line.
type table struct {
	*csv.Reader
	server *Server
	at     map[string]int // the column of a heading
}

// readCSV reads a table of readings of one zone. Faults: CSV_MALFORMED, OUT_OF_RANGE,
// TIME_IN_FUTURE, TIME_TOO_OLD, which name the line and the column.
func (s *Server) readCSV(word, text string) ([]read, error) {
	t := table{Reader: csv.NewReader(strings.NewReader(strings.TrimPrefix(text, "\ufeff"))), server: s}
	t.TrimLeadingSpace, t.ReuseRecord = true, true
	if err := t.headings(); err != nil {
		return nil, err
	}
	var out []read
	for {
		record, err := t.Read()
		if errors.Is(err, io.EOF) {
			return out, t.some(len(out))
		}
		if err != nil {
			return nil, malformedLine(err)
		}
		if len(out) == mostLines {
			return nil, malformed("The table has more than %d lines; import it in parts.", mostLines)
		}
		reading, err := t.reading(record)
		if err != nil {
			return nil, err
		}
		out = append(out, read{Reading: reading, word: word})
	}
}

func malformed(format string, args ...any) *fault.Fault {
	return fault.New(fault.Invalid, "CSV_MALFORMED", format, args...).At("csv")
}

// malformedLine says in which line the table is none.
func malformedLine(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return malformed("The table cannot be read; export it again, with values separated by commas.").Because(err)
	}
	if errors.Is(err, csv.ErrFieldCount) {
		return malformed("Line %d has more or fewer values than there are headings; give each heading one.", p.Line)
	}
	return malformed("Line %d, character %d: %v; put a value with quotes or commas in quotes.", p.Line, p.Column, p.Err)
}

func (t *table) some(n int) error {
	if n > 0 {
		return nil
	}
	return malformed("The table has headings and no readings; export it again.")
}

// columns are the headings that a table may have.
var columns = []string{"time", "celsius", "fahrenheit", "humidity", "surface_celsius", "surface_fahrenheit"}

// headings reads the first line. Fault: CSV_MALFORMED.
func (t *table) headings() error {
	record, err := t.Read()
	if errors.Is(err, io.EOF) {
		return malformed("The table is empty; its first line has the headings time, celsius and humidity.")
	}
	if err != nil {
		return malformedLine(err)
	}
	t.at = map[string]int{}
	for i, h := range record {
		h = strings.ToLower(strings.TrimSpace(h))
		switch _, twice := t.at[h]; {
		case !slices.Contains(columns, h):
			return malformed("Line 1, column %d: there is no heading %q; use %s.", i+1, h, strings.Join(columns, ", "))
		case twice:
			return malformed("Line 1, column %d: the heading %q is there twice; leave one.", i+1, h)
		}
		t.at[h] = i
	}
	return t.checkHeadings()
}

func (t *table) checkHeadings() error {
	for _, h := range []string{"time", "humidity"} {
		if !t.has(h) {
			return malformed("Line 1: the heading %q is missing.", h)
		}
	}
	for _, of := range []string{"", "surface_"} {
		if t.has(of+"celsius") && t.has(of+"fahrenheit") {
			return malformed("Line 1: give %[1]scelsius or %[1]sfahrenheit, not both.", of)
		}
	}
	if !t.has("celsius") && !t.has("fahrenheit") {
		return malformed("Line 1: the heading celsius, or fahrenheit, is missing.")
	}
	return nil
}

func (t *table) has(heading string) bool { _, has := t.at[heading]; return has }

// reading reads a line.
func (t *table) reading(record []string) (r workflow.Reading, err error) {
	r.Source = "table"
	at := strings.TrimSpace(record[t.at["time"]])
	read, err := wallclock.Read(at, t.server.Shop.Zone)
	if err != nil {
		return r, malformed("%s: %v.", t.where("time"), err)
	}
	if r.At, err = t.server.Shop.Instant("time", timestamppb.New(read)); err != nil {
		return r, t.in("time", err)
	}
	celsius, err := t.celsius(record, "")
	if err != nil {
		return r, err
	}
	humidity, err := t.number(record, "humidity")
	if err != nil {
		return r, err
	}
	if celsius == nil || humidity == nil {
		return r, malformed("Line %d has no temperature or no humidity; give both, or leave the line out.", t.line(0))
	}
	r.Celsius, r.Humidity = *celsius, *humidity
	if r.Surface, err = t.celsius(record, "surface_"); err != nil {
		return r, err
	}
	return r, t.check(r)
}

// check is Reading.Check in the words of the table.
func (t *table) check(r workflow.Reading) error {
	err := r.Check("")
	if err == nil {
		return nil
	}
	switch heading := fault.Of(err).Fields[0].Path; heading {
	case "humidity_percent":
		return t.in("humidity", err)
	case "surface_celsius":
		return t.in(t.degrees("surface_"), err)
	}
	return t.in(t.degrees(""), err)
}

// degrees is the heading of the temperature of the air, or of the surface, in this table.
func (t *table) degrees(of string) string {
	if t.has(of + "fahrenheit") {
		return of + "fahrenheit"
	}
	return of + "celsius"
}

// celsius reads a temperature; nil where there is none.
func (t *table) celsius(record []string, of string) (*float64, error) {
	heading := t.degrees(of)
	v, err := t.number(record, heading)
	if err == nil && v != nil && strings.HasSuffix(heading, "fahrenheit") {
		c := (*v - 32) / 1.8
		v = &c
	}
	return v, err
}

// number reads a value; nil where there is none.
func (t *table) number(record []string, heading string) (*float64, error) {
	if !t.has(heading) {
		return nil, nil
	}
	text := strings.TrimSpace(record[t.at[heading]])
	if text == "" {
		return nil, nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return nil, malformed("%s: %q is not a number such as 21.5.", t.where(heading), text)
	}
	return &v, nil
}

// where names the line and the column of what was read last.
func (t *table) where(heading string) string {
	return fmt.Sprintf("Line %d, %s", t.line(t.at[heading]), heading)
}

func (t *table) line(column int) int {
	line, _ := t.FieldPos(column)
	return line
}

// in says in which line and column a value is refused.
func (t *table) in(heading string, err error) error {
	f := fault.Of(err)
	return fault.New(f.Kind, f.Reason, "%s: %s", t.where(heading), f.Text).At("csv")
}
