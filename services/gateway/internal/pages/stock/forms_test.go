package stock_test

import (
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// last is the last command or question that was sent.
func (s *shelf) last() proto.Message {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.sent[len(s.sent)-1]
}

// opened gives the hidden field of a form as somebody opened it.
func (r *reader) opened(path string) string {
	r.t.Helper()
	m := regexp.MustCompile(`(?s)/describe".*?name="was" value="([^"]*)"`).FindStringSubmatch(r.get(path))
	if m == nil {
		r.t.Fatal("there is no form")
	}
	return regexp.MustCompile(`&amp;`).ReplaceAllString(m[1], "&")
}

func TestReceive(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	form := url.Values{"package": {"four-litre can"}, "packages": {"2"}, "cost": {"48,50"}, "supplier": {"Vatman & Co"}, "place": {"places/shelf-2"}, "expires": {"2027-01-31"}, "line": {"purchaseOrders/9/lines/1"}}
	if status, body := r.post("/stock/oil/receive", form); status != http.StatusSeeOther {
		t.Fatalf("received: %d\n%s", status, body)
	}
	got, is := s.last().(*materialsv1.ReceiveDeliveryRequest)
	if !is || len(got.Lines) != 1 {
		t.Fatalf("sent %v", s.last())
	}
	line := got.Lines[0]
	if line.GetPackages().GetCount() != 2 || line.Cost.Units != 48 || line.Cost.Nanos != 500_000_000 || line.Place != "places/shelf-2" || line.ExpireDate.Year != 2027 || line.OrderLine != "purchaseOrders/9/lines/1" {
		t.Errorf("sent %v", got)
	}
	form = url.Values{"package": {""}, "amount": {"1.5"}, "unit": {"qt"}, "cost": {""}}
	status, body := r.post("/stock/oil/receive", form)
	if status != http.StatusBadRequest {
		t.Errorf("without a cost: %d, want 400", status)
	}
	r.sees(body, "Say what it cost", `value="1.5"`, "<option value=\"qt\" selected>qt</option>")
}

func TestCount(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	if status, _ := r.post("/stock/oil/count", url.Values{"amount": {"0"}, "unit": {"L"}, "lot": {"products/oil/lots/2"}}); status != http.StatusSeeOther {
		t.Fatalf("counted: %d, want 303", status)
	}
	if got, is := s.last().(*materialsv1.CountStockRequest); !is || got.Quantity.Value != "0" || got.Lot != "products/oil/lots/2" {
		t.Errorf("sent %v", s.last())
	}
	s.refusing["CountStock"] = fault.New(fault.Precondition, "LOT_CLOSED", "That can was set aside.")
	status, body := r.post("/stock/oil/count", url.Values{"amount": {"1.25"}, "unit": {"L"}, "reason": {"half a can"}})
	if status != http.StatusUnprocessableEntity {
		t.Errorf("refused: %d, want 422", status)
	}
	r.sees(body, "That can was set aside.", `value="1.25"`, `value="half a can"`)
}

// Material that somebody takes between the reading and the writing is no change of the description.
func TestDescribe_WhileMaterialIsTaken(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	was := r.opened("/stock/oil")
	s.taken = func(s *shelf) { s.version++ }
	if status, body := r.post("/stock/oil/describe", url.Values{"was": {was}, "colour": {"linen"}, "category": {"topcoat"}, "flash_point": {"61"}, "cautions": {"oily-rags"}}); status != http.StatusSeeOther {
		t.Fatalf("described: %d\n%s", status, body)
	}
	if d := s.read().Details; d.Colour != "linen" || d.GetFlashPointCelsius() != 61 || len(d.Cautions) != 1 {
		t.Errorf("it is now %v", d)
	}
}

// Of two who describe one product, the second sees both and loses nothing; nor does the first.
func TestDescribe_TwoOwners(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	was := r.opened("/stock/oil")
	if status, _ := r.post("/stock/oil/describe", url.Values{"was": {was}, "colour": {"bone"}, "category": {"topcoat"}, "maker": {"Osk"}}); status != http.StatusSeeOther {
		t.Fatalf("the first: %d, want 303", status)
	}
	status, body := r.post("/stock/oil/describe", url.Values{"was": {was}, "colour": {"linen"}, "category": {"topcoat"}, "note": {"smells of oranges"}})
	if status != http.StatusConflict {
		t.Fatalf("the second: %d, want 409", status)
	}
	r.sees(body, "Somebody changed this", "both of you changed it", "<div>oat</div>", "<div>bone</div>", "<div>linen</div>", "smells of oranges", `name="maker" value="Osk"`, `name="colour" value="linen"`)
	if d := s.read().Details; d.Colour != "bone" || d.Note != "" {
		t.Errorf("it was overwritten: %v", d)
	}
	m := regexp.MustCompile(`(?s)/describe".*?name="was" value="([^"]*)"`).FindStringSubmatch(body)
	again := regexp.MustCompile(`&amp;`).ReplaceAllString(m[1], "&")
	if status, _ := r.post("/stock/oil/describe", url.Values{"was": {again}, "colour": {"linen"}, "category": {"topcoat"}, "maker": {"Osk"}, "note": {"smells of oranges"}}); status != http.StatusSeeOther {
		t.Fatalf("thought over: %d, want 303", status)
	}
	if d := s.read().Details; d.Colour != "linen" || d.Maker != "Osk" || d.Note != "smells of oranges" {
		t.Errorf("it is now %v", d)
	}
}

func TestThreshold_TwoOwners(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	if status, _ := r.post("/stock/oil/threshold", url.Values{"was": {""}, "amount": {"2"}, "unit": {"L"}}); status != http.StatusSeeOther {
		t.Fatalf("the first: %d, want 303", status)
	}
	status, body := r.post("/stock/oil/threshold", url.Values{"was": {""}, "amount": {"5"}, "unit": {"L"}})
	if status != http.StatusConflict {
		t.Fatalf("the second: %d, want 409", status)
	}
	r.sees(body, "<div>2 L</div>", "<div>5 L</div>", `name="was" value="2 L"`, `value="5"`)
	if got := s.read().RestockThreshold.GetValue(); got != "2" {
		t.Errorf("the mark is %s, want 2", got)
	}
}

// A description that cannot be read, or that the service refuses, is shown again as it was typed.
func TestDescribe_Refused(t *testing.T) {
	s := stocked()
	r := pages(t, s)
	was := r.opened("/stock/oil")
	status, body := r.post("/stock/oil/describe", url.Values{"was": {was}, "colour": {"linen"}, "density": {"heavy"}})
	if status != http.StatusBadRequest {
		t.Errorf("%d, want 400", status)
	}
	r.sees(body, "“heavy” is not a number", `name="colour" value="linen"`, `name="density" value="heavy"`)
	s.refusing["DescribeProduct"] = fault.New(fault.Invalid, "OUT_OF_RANGE", "Ninety is not a density.")
	_, body = r.post("/stock/oil/describe", url.Values{"was": {was}, "colour": {"linen"}, "density": {"90"}})
	r.sees(body, "Ninety is not a density.", `name="density" value="90"`)
}
