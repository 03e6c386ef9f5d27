package edge_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func failing(name string) (grpc.ClientConnInterface, error) { return nil, errors.New("no address") }

// pages answers as a list of so many pieces does.
func pages(n int) func(string, proto.Message, proto.Message) error {
	return func(_ string, request, reply proto.Message) error {
		asked, from := request.(*intakev1.ListPiecesRequest), 0
		if asked.PageToken != "" {
			if _, err := fmt.Sscan(asked.PageToken, &from); err != nil {
				return fault.New(fault.Invalid, "PAGE_TOKEN", "It is none.")
			}
		}
		list := reply.(*intakev1.ListPiecesResponse)
		for i := from; i < n && i < from+int(asked.PageSize); i++ {
			list.Pieces = append(list.Pieces, &intakev1.Piece{Tag: int32(i), Title: "=SUM(A1)", Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{
				Price: &money.Money{CurrencyCode: "USD", Units: 40, Nanos: 500_000_000}}}})
		}
		if from+int(asked.PageSize) < n {
			list.NextPageToken = fmt.Sprint(from + int(asked.PageSize))
		}
		return nil
	}
}

func table(t *testing.T, text string) (rows []map[string]string) {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func TestCSV_AllPages(t *testing.T) {
	for name, r := range map[string]*http.Request{
		"Parameter": ask("GET", "/v1/pieces?format=csv&page_size=3&page_token=1500", ""),
		"Accept":    ask("GET", "/v1/pieces", "", "Accept", "text/html;q=0.1, text/csv"),
	} {
		h, s := setup(t)
		s.answer = pages(2500)
		w := serve(h, r)
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "text/csv; charset=utf-8" || w.Header().Get("Content-Disposition") != `attachment; filename="pieces.csv"` {
			t.Fatalf("%s: %d %v", name, w.Code, w.Header())
		}
		rows := table(t, w.Body.String())
		if len(s.calls) != 3 || len(rows) != 2500 || s.calls[2].token != "access of nell" {
			t.Fatalf("%s: %d rows in %d pages, want 2500 in 3", name, len(rows), len(s.calls))
		}
		last := rows[2499]
		if last["tag"] != "2499" || last["title"] != "'=SUM(A1)" || last["purchase.price"] != "40.50" || last["purchase.price.currency"] != "USD" {
			t.Errorf("%s: the last row is %v", name, last)
		}
	}
}

// Who asks for JSON gets it, whatever else they would take.
func TestCSV_NotAsked(t *testing.T) {
	h, s := setup(t)
	for _, r := range []*http.Request{ask("GET", "/v1/pieces?format=json", "", "Accept", "text/csv"), ask("GET", "/v1/pieces", "", "Accept", "*/*"),
		ask("GET", "/v1/pieces/7", "", "Accept", "text/csv")} {
		if w := serve(h, r); w.Header().Get("Content-Type") != "application/json" {
			t.Errorf("%s: %v %s", r.URL, w.Header(), w.Body)
		}
		s.last(t)
	}
}

// A list with filters in its path and query, and one without pages.
func TestCSV_Asks(t *testing.T) {
	h, s := setup(t)
	s.answer = func(string, proto.Message, proto.Message) error { return nil }
	w := serve(h, ask("GET", "/v1/climateZones/bench/readings?from_time=2026-03-02T08:00:00Z&format=csv", ""))
	got := s.last(t).request.(*workflowv1.ListReadingsRequest)
	if got.Zone != "climateZones/bench" || got.FromTime.GetSeconds() != 1772438400 || got.PageSize != 1000 || len(table(t, w.Body.String())) != 0 {
		t.Errorf("asked %v, got %s", got, w.Body)
	}
	if w := serve(h, ask("GET", "/v1/climateZones?format=csv", "")); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "name,") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

// A table is whole or it is none.
func TestCSV_WholeOrNone(t *testing.T) {
	h, s := setup(t)
	s.answer = func(m string, request, reply proto.Message) error {
		if request.(*intakev1.ListPiecesRequest).PageToken == "2000" {
			return fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "It is away.")
		}
		return pages(3000)(m, request, reply)
	}
	w := serve(h, ask("GET", "/v1/pieces?format=csv", ""))
	if p := problemIn(t, w.Body.String()); w.Code != 503 || p.Reason != "SERVICE_UNAVAILABLE" || w.Header().Get("Content-Disposition") != "" {
		t.Errorf("%d %+v", w.Code, p)
	}
	for n, reason := range map[int]string{100_000: "", 100_001: "TABLE_TOO_LONG"} {
		s.answer = pages(n)
		w := serve(h, ask("GET", "/v1/pieces?format=csv", ""))
		if reason == "" {
			if got := strings.Count(w.Body.String(), "\r\n"); w.Code != 200 || got != n+1 {
				t.Errorf("%d rows: %d, %d lines", n, w.Code, got)
			}
		} else if p := problemIn(t, w.Body.String()); w.Code != 400 || p.Reason != reason {
			t.Errorf("%d rows: %d %+v", n, w.Code, p)
		}
	}
}

// Every list can be a table.
func TestCSV_EveryList(t *testing.T) {
	h, s := setup(t)
	for _, b := range bindings() {
		if !strings.HasPrefix(string(b.method.Name()), "List") {
			continue
		}
		target := variable.ReplaceAllStringFunc(b.template, func(v string) string {
			return strings.ReplaceAll(variable.FindStringSubmatch(v)[2], "*", "7")
		})
		if w := serve(h, ask(b.verb, target+"?format=csv", "")); w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/csv") {
			t.Errorf("%s: %d %s", target, w.Code, w.Body)
		}
		if got := s.last(t).method; got != fullName(b.method) {
			t.Errorf("%s asked %s", target, got)
		}
	}
}
