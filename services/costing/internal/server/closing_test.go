package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Whoever gives a day of a closed month, or hours of a locked week, is told where they count instead; a month that
// was opened again is open, and a week that nobody locked between two that are is where its own hours are paid.
func TestServer_GetClosing(t *testing.T) {
	t.Parallel()
	o := paying(t)
	o.twoPieces(t) // hours on March 2nd and 9th
	says := func(at time.Time, work bool, month, openMonth, week, openWeek *date.Date) {
		t.Helper()
		r := &costingv1.GetClosingRequest{Time: timestamppb.New(at)}
		if work {
			r.StartTime = timestamppb.New(at.Add(-time.Hour))
		}
		got, err := o.months().GetClosing(t.Context(), r)
		want := &costingv1.GetClosingResponse{ClosedMonth: month, OpenMonth: openMonth, LockedWeek: week, OpenWeek: openWeek}
		if diff := cmp.Diff(want, got, protocmp.Transform()); err != nil || diff != "" {
			t.Errorf("of %s, work %t: %v (-want +got):\n%s", at, work, err, diff)
		}
	}
	says(monday, true, nil, nil, nil, nil)
	o.closeMonth(t, 2, toSold)
	o.lock(t, dayOf(3, 2))
	says(monday, true, nil, nil, dayOf(3, 2), dayOf(3, 9))
	says(monday, false, nil, nil, nil, nil)
	o.lock(t, dayOf(3, 9))
	o.lock(t, dayOf(3, 23))
	says(monday, true, nil, nil, dayOf(3, 2), dayOf(3, 16))
	says(monday.AddDate(0, 0, 14), true, nil, nil, nil, nil)
	lastOfFebruary := time.Date(2026, 3, 1, 4, 59, 59, 0, time.UTC) // in New York, a second before March
	says(lastOfFebruary, true, dayOf(2, 1), dayOf(3, 1), nil, nil)
	says(lastOfFebruary.Add(time.Second), false, nil, nil, nil, nil)
	o.closeMonth(t, 3, toSold)
	says(lastOfFebruary, false, dayOf(2, 1), dayOf(4, 1), nil, nil)
	says(monday, true, dayOf(3, 1), dayOf(4, 1), dayOf(3, 2), dayOf(3, 16))
	o.reopened(t, 3)
	says(monday, false, nil, nil, nil, nil)
	svctest.Refused(t, o.Service, o.months().GetClosing, &costingv1.GetClosingRequest{Time: timestamppb.New(monday.AddDate(1, 0, 0))}, fault.Invalid, "TIME_IN_FUTURE")
}
