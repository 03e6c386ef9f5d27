package buying

import (
	"context"
	"net/http"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
)

// books answer which sources there are.
type books struct {
	costingv1.AnswerServiceClient
	sources []*costingv1.SourceCompared
	away    error
}

func (b *books) CompareSources(context.Context, *costingv1.CompareSourcesRequest, ...grpc.CallOption) (*costingv1.CompareSourcesResponse, error) {
	return &costingv1.CompareSourcesResponse{Sources: b.sources, Total: &costingv1.SourceCompared{Bought: 9, Profit: usd(400, 0)}}, b.away
}

func sourceFrom(title string, low, high, drawn int64, few bool) *costingv1.SourceCompared {
	days := 12.6
	return &costingv1.SourceCompared{Title: title, Bought: 6, Unsold: 1, Sold: 4, GivenUp: 1, Lost: usd(3, 0), MedianDays: &days, Paid: usd(70, 0), Profit: usd(200, 0), Time: durationpb.New(8 * time.Hour),
		ProfitPerLabourHour: usd(25, 0), PerHourLow: usd(low, 0), PerHourHigh: usd(high, 0), PerHourPooled: usd(drawn, 0), Few: few}
}

func TestPages_Sources(t *testing.T) {
	b := &books{sources: []*costingv1.SourceCompared{sourceFrom("<auction>", 10, 40, 27, true), sourceFrom("kerb", 5, 20, 14, false), {Bought: 1, Unsold: 1, Paid: usd(5, 0)}}}
	s := &shop{role: typev1.Role_ROLE_OWNER}
	v := pagetest.Visit(t, Page(), &clients.Suite{Intake: s, Prospects: s, Answers: b}, s.role, wednesday, "/buying/sources")
	status, body := v.Get("/buying/sources")
	pagetest.Want(t, "sources", status, http.StatusOK, body, []string{"&lt;auction&gt;, but kerb may be as good", "10.00 to 40.00", "27.00 *", "14.00<", "1 (lost 3.00)", ">13<", "not said", "Fewer than five"}, []string{"<auction>", "[buying"})
	b.sources[0].PerHourLow = usd(21, 0)
	_, body = v.Get("/buying/sources")
	pagetest.Want(t, "apart", 200, 200, body, []string{"earns most on pieces from &lt;auction&gt;; kerb comes next"}, nil)
	b.away = fault.New(fault.Unavailable, "AWAY", "Away.")
	status, body = v.Get("/buying/sources")
	pagetest.Want(t, "books away", status, http.StatusOK, body, []string{"Sources compared"}, []string{"kerb"})
	if status, _ := pagetest.Visit(t, Page(), &clients.Suite{Intake: s, Prospects: s, Answers: b}, typev1.Role_ROLE_LEAD, wednesday, "/buying/sources").Get("/buying/sources"); status == http.StatusOK {
		t.Error("a lead reads what sources earned")
	}
}
