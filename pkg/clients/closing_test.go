package clients

import (
	"context"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/grpc"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// twoPages tells of the people one a page, as a shop with many would.
type twoPages struct {
	workflowv1.PeopleServiceClient
	people []*workflowv1.Person
}

func (f twoPages) ListPeople(_ context.Context, r *workflowv1.ListPeopleRequest, _ ...grpc.CallOption) (*workflowv1.ListPeopleResponse, error) {
	i := len(r.PageToken)
	out := &workflowv1.ListPeopleResponse{People: f.people[i : i+1]}
	if i+1 < len(f.people) {
		out.NextPageToken = r.PageToken + "x"
	}
	return out, nil
}

func works(day dayofweek.DayOfWeek, start, end int32) *workflowv1.WorkingDay {
	return &workflowv1.WorkingDay{Day: day, Start: &timeofday.TimeOfDay{Hours: start}, End: &timeofday.TimeOfDay{Hours: end, Minutes: 30}}
}

func on(month, day int32) *date.Date { return &date.Date{Year: 2026, Month: month, Day: day} }

// A day alone is until the last leave who work on it; a Sunday, and a day on which nobody works, are until they end.
func TestClosing(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		t.Fatal(err)
	}
	early := &workflowv1.Person{WorkingDays: []*workflowv1.WorkingDay{works(dayofweek.DayOfWeek_MONDAY, 7, 14), works(dayofweek.DayOfWeek_SUNDAY, 9, 12), works(dayofweek.DayOfWeek_THURSDAY, 22, 5)}}
	late := &workflowv1.Person{WorkingDays: []*workflowv1.WorkingDay{works(dayofweek.DayOfWeek_MONDAY, 9, 17)}, ActiveFrom: on(3, 9), ActiveTo: on(11, 30),
		DaysOff: []*workflowv1.DayOff{{FirstDate: on(3, 16)}, {FirstDate: on(3, 22), LastDate: on(3, 24)}}}
	suite := &Suite{People: twoPages{people: []*workflowv1.Person{early, late}}}
	for day, want := range map[*date.Date]string{
		on(3, 2):   "2026-03-02T14:30:00+01:00", // before the later one came
		on(3, 9):   "2026-03-09T17:30:00+01:00",
		on(3, 16):  "2026-03-16T14:30:00+01:00", // the later one has it off
		on(3, 23):  "2026-03-23T14:30:00+01:00",
		on(3, 29):  "2026-03-29T12:30:00+02:00", // a Sunday, on which clocks are put forward
		on(3, 30):  "2026-03-30T17:30:00+02:00",
		on(3, 3):   "2026-03-03T23:59:59+01:00", // nobody works on Tuesdays
		on(3, 5):   "2026-03-05T23:59:59+01:00", // one works past midnight
		on(11, 30): "2026-11-30T17:30:00+01:00",
		on(12, 7):  "2026-12-07T14:30:00+01:00", // the later one has left
	} {
		got, err := suite.Closing(t.Context(), day, zone)
		if err != nil || got.Format(time.RFC3339) != want {
			t.Errorf("Closing(%v) = %s, %v, want %s", day, got.Format(time.RFC3339), err, want)
		}
	}
}
