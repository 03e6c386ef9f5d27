package protocsv_test

import (
	"encoding/csv"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/protocsv"
	_ "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// table writes messages and reads them back, a map of the fields of each.
func table[M proto.Message](t *testing.T, messages ...M) (rows []map[string]string) {
	t.Helper()
	var kind M
	var b strings.Builder
	err := protocsv.Write(&b, kind.ProtoReflect().Descriptor(), func(yield func(protoreflect.Message) bool) {
		for _, m := range messages {
			if !yield(m.ProtoReflect()) {
				return
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Count(b.String(), "\r\n"); got != len(messages)+1 {
		t.Errorf("%d lines end with CR LF, want %d: %q", got, len(messages)+1, b.String())
	}
	read, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range read[1:] {
		row := map[string]string{}
		for i, name := range read[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// says checks some fields of a row.
func says(t *testing.T, row, want map[string]string) {
	t.Helper()
	for name, text := range want {
		got, known := row[name]
		if !known || got != text {
			t.Errorf("%s = %q (there: %t), want %q", name, got, known, text)
		}
	}
}

func TestWrite(t *testing.T) {
	rows := table(t, &intakev1.Piece{Name: "pieces/a", Tag: 7, Title: "=cmd()", Kind: "a, \"b\"", State: intakev1.Piece_STATE_IN_HAND,
		Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Source: "-3.50", Date: &date.Date{Year: 2026, Month: 3, Day: 2},
			Price: &moneyv1.Money{CurrencyCode: "USD", Units: -1, Nanos: -500_000_000}}},
		Parts: []*intakev1.Part{{Label: "case", Count: 1}}}, &intakev1.Piece{Tag: 8})
	says(t, rows[0], map[string]string{"name": "pieces/a", "tag": "7", "title": "'=cmd()", "kind": `a, "b"`, "state": "in_hand", "purchase.source": "-3.50",
		"purchase.date": "2026-03-02", "purchase.price": "-1.50", "purchase.price.currency": "USD", "commission.client": "", "parts": `[{"label":"case","count":1}]`})
	says(t, rows[1], map[string]string{"tag": "8", "state": "", "title": "", "purchase.price": "", "purchase.price.currency": "", "purchase.date": "", "parts": ""})
}

// Times and lengths of time are exact, and so are amounts of material.
func TestWrite_IsExact(t *testing.T) {
	at := time.Date(2026, 3, 2, 14, 0, 0, 5_000_000, time.UTC)
	says(t, table(t, &workflowv1.ListHoursResponse_Line{PersonName: "Nell", LabourTime: durationpb.New(90*time.Minute + 500*time.Millisecond),
		ReworkTime: durationpb.New(-time.Second), Week: &date.Date{Year: 2026, Month: 3, Day: 2}})[0],
		map[string]string{"labour_time.seconds": "5400.5", "rework_time.seconds": "-1", "indirect_time.seconds": "", "week": "2026-03-02"})
	says(t, table(t, &workflowv1.ClockEntry{StartTime: timestamppb.New(at)})[0], map[string]string{"start_time": "2026-03-02T14:00:00.005Z", "end_time": ""})
	says(t, table(t, &materialsv1.Issue{Quantity: &typev1.Quantity{Value: "0.12345678901234567890", Unit: "L"}, Cost: &moneyv1.Money{CurrencyCode: "JPY", Units: 1200}})[0],
		map[string]string{"quantity": "0.12345678901234567890", "quantity.unit": "L", "cost": "1200"})
	says(t, table(t, &workflowv1.BoardLine_Next{OnTheClock: []string{"=Nell", "Ruth"}})[0], map[string]string{"on_the_clock": "'=Nell; Ruth"})
}

func TestFree(t *testing.T) {
	for text, want := range map[string]string{"": "", "oak": "oak", "=1+1": "'=1+1", "+1": "+1", "-3.50": "-3.50", "-1+1": "'-1+1", "@a": "'@a", "\tx": "'\tx",
		"＝x": "'＝x", "+": "'+", "-.5": "'-.5", "1": "1", "2=3": "2=3"} {
		if got := protocsv.Free(text); got != want {
			t.Errorf("Free(%q) = %q, want %q", text, got, want)
		}
	}
}

// Of every message of the contracts the columns have names of their own.
func TestColumns_OfTheContracts(t *testing.T) {
	seen := 0
	protoregistry.GlobalTypes.RangeMessages(func(kind protoreflect.MessageType) bool {
		if !strings.HasPrefix(string(kind.Descriptor().FullName()), "tackfree.") {
			return true
		}
		var names []string
		for _, c := range protocsv.Columns(kind.Descriptor()) {
			names = append(names, c.Name)
		}
		slices.Sort(names)
		if once := slices.Compact(slices.Clone(names)); len(once) != len(names) {
			t.Errorf("%s: %s", kind.Descriptor().FullName(), cmp.Diff(once, names))
		}
		seen++
		return true
	})
	if seen < 300 {
		t.Errorf("looked at %d messages of the contracts only", seen)
	}
}

// What is forecast has as many places as anybody reads, and never a power of ten, which some
// spreadsheets take for text.
func TestWrite_Forecasts(t *testing.T) {
	for x, want := range map[float64]string{10.0 / 3: "3.333333", 0: "0", 12: "12", 1234567.5: "1234567.5", 1e21: "1000000000000000000000", -0.25: "-0.25", 1.0 / 30000: "0.0000333333"} {
		says(t, table(t, &materialsv1.RestockAdvice{LeadDays: x})[0], map[string]string{"lead_days": want})
	}
}
