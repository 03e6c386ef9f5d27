package materials

import (
	"bytes"
	"encoding/csv"
	"strconv"

	"tackfree/pkg/money"
)

// EmissionTable writes what was let go in a month, such as 2026-03, as a table (RFC 4180) for the
// record. What nobody stated is said to be unknown, and not nothing.
func EmissionTable(month string, emissions []Emission) string {
	rows := [][]string{{"month", "product", "kind", "used", "unit", "voc_g_per_l", "voc_g"}}
	for _, e := range emissions {
		row := []string{month, spared(e.ProductName), e.kind(), e.Quantity.String(), e.Unit, "not stated", "unknown"}
		if e.Known {
			row[5], row[6] = figure(e.VOC), figure(e.Grams)
		}
		rows = append(rows, row)
	}
	return table(rows)
}

// figure writes a physical figure to a thousandth.
func figure(f float64) string { return strconv.FormatFloat(f, 'f', 3, 64) }

// WasteTable writes what was wasted as a table (RFC 4180), with what it cost or without: the columns are
// the same. when is how an instant is written.
func WasteTable(waste []Waste, currency money.Currency, costs bool, when func(Waste) string) string {
	rows := [][]string{{"time", "product", "cause", "quantity", "unit", "cost", "currency", "piece", "stage", "stage_kind", "note", "actor"}}
	for _, w := range waste {
		row := []string{when(w), spared(w.ProductName), string(w.Cause), w.Quantity.String(), w.Unit, "", "", "", "", w.Stage.Kind,
			spared(w.Note), spared(w.Actor)}
		if costs {
			row[5], row[6] = currency.Format(w.Cost), currency.Code
		}
		if w.OfStage() {
			row[7], row[8] = w.Stage.Piece.String(), w.Stage.ID.String()
		}
		rows = append(rows, row)
	}
	return table(rows)
}

// spared puts an apostrophe before a text that a spreadsheet would compute instead of showing it.
func spared(text string) string {
	if formula.MatchString(text) {
		return "'" + text
	}
	return text
}

func table(rows [][]string) string {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	for _, row := range rows {
		writeRecord(w, row)
	}
	w.Flush()
	return out.String()
}
