package server_test

import (
	"fmt"
	"testing"

	costingv1 "tackfree/proto/tackfree/costing/v1"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
)

// Of the bench the stool was bought at a church sale and sold, the box off the kerb and given up; the chair is a client's.
func TestServer_CompareSources(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	r, err := b.answers.CompareSources(t.Context(), &costingv1.CompareSourcesRequest{})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, s := range r.Sources {
		if s.Title == "church sale" || s.Title == "kerb" || s.Title == "the Moreaus" {
			got[s.Title] = fmt.Sprint(s.Sold, " ", s.GivenUp, " ", s.Bought-s.Unsold, " ", cents(s.Profit), " ", cents(s.Lost), " ", s.ProfitPerLabourHour != nil, " ", s.MedianDays != nil, " ", s.Few)
		}
	}
	differ(t, "sources", map[string]string{"church sale": "1 0 1 5200 0 true true true", "kerb": "0 1 1 0 300 false false true"}, got)
	if total := r.Total; total.Bought < 2 || total.Bought != total.Unsold+total.Sold+total.GivenUp {
		t.Errorf("total = %v", total)
	}
	none, err := b.answers.CompareSources(t.Context(), &costingv1.CompareSourcesRequest{ToDate: dayOf(2, 1)})
	if err != nil || len(none.Sources) != 0 {
		t.Errorf("before anything came in: %v, %v", none, err)
	}
	svctest.Refused(t, b.Service, b.answers.CompareSources, &costingv1.CompareSourcesRequest{FromDate: dayOf(3, 2), ToDate: dayOf(3, 1)}, fault.Invalid, "PERIOD_BACKWARDS")
}
