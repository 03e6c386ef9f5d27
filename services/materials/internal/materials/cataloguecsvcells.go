package materials

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/quantity"
)

func malformed(column, cell, form string) error {
	return fault.New(fault.Invalid, "CELL_MALFORMED", "%s is %q; write %s.", column, clipped(cell), form)
}

// clipped shortens what a sentence repeats.
func clipped(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}

// readText reads a line of text.
func readText(column, cell string, most int, s Spelling) (string, error) {
	if strings.ContainsFunc(cell, func(r rune) bool { return r < ' ' || r == 0x7f }) {
		return "", malformed(column, cell, "it on one line, without tabs")
	}
	text := s.Name(cell)
	return text, shortText(column, text, most)
}

var (
	numberForm = regexp.MustCompile(`^-?[0-9]{1,20}(\.[0-9]{1,400})?$`)
	wholeForm  = regexp.MustCompile(`^[0-9]{1,8}$`)
	amountForm = regexp.MustCompile(`^([0-9]{1,9}(?:\.[0-9]{1,40})?) *([A-Za-z]{1,12})$`)
)

// writeNumber writes a number so that the very same is read again; zero is nothing.
func writeNumber(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func readNumber(column, cell string) (float64, error) {
	v, err := readOrNone(column, cell)
	return valueOf(v), err
}

func writeOrNone(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

func readOrNone(column, cell string) (*float64, error) {
	text := strings.TrimSpace(cell)
	if text == "" {
		return nil, nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !numberForm.MatchString(text) {
		return nil, malformed(column, cell, "a plain number with a point, such as 0.5")
	}
	return &v, nil
}

func writeWhole(n int32) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(int(n))
}

func readWhole(column, cell string) (int32, error) {
	text := strings.TrimSpace(cell)
	if text == "" {
		return 0, nil
	}
	n, err := strconv.ParseInt(text, 10, 32)
	if err != nil || !wholeForm.MatchString(text) {
		return 0, malformed(column, cell, "a whole number from 0 on, such as 240")
	}
	return int32(n), nil
}

func writeDay(p Product) string {
	if p.SafetySheetDate.IsZero() {
		return ""
	}
	return p.SafetySheetDate.Format(time.DateOnly)
}

func readDay(d *csvDraft, cell string) (err error) {
	d.SafetySheetDate = time.Time{}
	if text := strings.TrimSpace(cell); text != "" {
		if d.SafetySheetDate, err = time.Parse(time.DateOnly, text); err != nil {
			return malformed("safety_sheet_date", cell, "a day as 2026-03-02")
		}
	}
	return nil
}

func readCautions(d *csvDraft, cell string) error {
	d.Cautions = nil
	for c := range strings.SplitSeq(cell, ";") {
		if c = strings.ToLower(strings.TrimSpace(c)); c != "" {
			d.Cautions = append(d.Cautions, c)
		}
	}
	return nil
}

func writeThreshold(p Product) string {
	if p.Threshold.IsZero() {
		return ""
	}
	return quantity.Quantity{Value: p.Threshold, Unit: p.Unit}.String()
}

func readThreshold(d *csvDraft, cell string) (err error) {
	d.Threshold = decimal.Zero
	if text := strings.TrimSpace(cell); text != "" {
		d.Threshold, err = readAmount("restock_threshold", text, d.Unit)
	}
	return err
}

// readAmount reads an amount such as 0.75 L in the unit that a product is counted in. In that
// unit it takes all decimals that another unit can make.
func readAmount(column, text string, unit quantity.Unit) (decimal.Decimal, error) {
	parts := amountForm.FindStringSubmatch(text)
	if parts == nil {
		return decimal.Zero, malformed(column, text, "a number with a point and a unit, such as 0.75 "+unit.Symbol)
	}
	u, err := quantity.UnitOf(parts[2])
	if err != nil {
		return decimal.Zero, err
	}
	q := quantity.Quantity{Value: decimal.RequireFromString(parts[1]), Unit: u}
	if u.Symbol != unit.Symbol {
		if q, err = quantity.Parse(parts[1], parts[2]); err != nil {
			return decimal.Zero, err
		}
	}
	if !q.Positive() {
		return decimal.Zero, malformed(column, text, "an amount above zero, or nothing")
	}
	q, err = Counted(column, q, unit)
	return q.Value, err
}
