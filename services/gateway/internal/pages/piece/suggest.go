package piece

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// suggested is by when the piece could be promised.
type suggested struct {
	Ways  []way
	Steps []step
}

// way is one way to promise it: gentle to others' promises, or hurried, before all others.
type way struct {
	*workflowv1.SuggestPromiseDateResponse_Option
	Word  string // gentle or hurried
	Later []*workflowv1.PieceOutlook
	Day   taken
}

// step is the gentle way at another chance.
type step struct {
	*workflowv1.SuggestPromiseDateResponse_Step
	Day taken
}

// taken is a promise as the form takes it, by the clock on the shop's wall.
type taken struct {
	Path, Day, Time string
	At              time.Time
}

// suggest shows the form again with what was typed, and by when the piece could be promised; or with the day that
// was taken from there.
func suggest(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	in := typedIn{Form: "promise", Values: url.Values{}}
	for _, field := range []string{"day", "time", "value"} {
		in.Values.Set(field, a.Typed(field))
	}
	if day, clock, took := strings.Cut(a.Typed("take"), " "); took {
		in.Values.Set("day", day)
		in.Values.Set("time", clock)
		return showWith(w, a, p, in, nil)
	}
	in.Suggested, err = suggestedFor(a, p)
	if f := fault.Of(err); err != nil && (f == nil || f.Kind == fault.Internal || f.Kind == fault.Denied) {
		return err
	}
	return showWith(w, a, p, in, err)
}

func suggestedFor(a *web.Asked, p *intakev1.Piece) (*suggested, error) {
	r, err := a.Kit.Suite.Planning.SuggestPromiseDate(a.Context(), &workflowv1.SuggestPromiseDateRequest{Piece: p.Name})
	if err != nil {
		return nil, err
	}
	day := func(at *timestamppb.Timestamp) taken {
		local := at.AsTime().In(a.Voice.Zone)
		return taken{Path: pathOf(p), Day: local.Format(time.DateOnly), Time: local.Format("15:04"), At: local}
	}
	it := &suggested{}
	for _, o := range []struct {
		word string
		*workflowv1.SuggestPromiseDateResponse_Option
	}{{"gentle", r.Gentle}, {"hurried", sooner(r)}} {
		if o.GetPromiseTime() != nil {
			it.Ways = append(it.Ways, way{o.SuggestPromiseDateResponse_Option, o.word, later(o.Changes), day(o.PromiseTime)})
		}
	}
	for _, s := range r.Steps {
		if s.PromiseTime == nil || len(it.Steps) > 0 && it.Steps[len(it.Steps)-1].Day == day(s.PromiseTime) {
			continue // the same day is as sure as was asked before, and surer
		}
		it.Steps = append(it.Steps, step{s, day(s.PromiseTime)})
	}
	return it, nil
}

// sooner is the hurried way, where it can be promised earlier than the gentle one; nil: it cannot.
func sooner(r *workflowv1.SuggestPromiseDateResponse) *workflowv1.SuggestPromiseDateResponse_Option {
	gentle, hurried := r.GetGentle().GetPromiseTime(), r.GetHurried().GetPromiseTime()
	if gentle != nil && hurried != nil && !hurried.AsTime().Before(gentle.AsTime()) {
		return nil
	}
	return r.Hurried
}

// later are the pieces that would be done later, or could not be planned to their end any more.
func later(changes []*workflowv1.CheckWhatIfResponse_Change) (out []*workflowv1.PieceOutlook) {
	for _, c := range changes {
		before, after := c.GetBefore().GetEndTime(), c.GetAfter().GetEndTime()
		if before != nil && (after == nil || after.AsTime().After(before.AsTime())) {
			out = append(out, c.Before)
		}
	}
	return out
}
