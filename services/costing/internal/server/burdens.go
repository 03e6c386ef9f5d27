package server

import (
	"context"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// SetBurden implements PayRuleService. It is recorded as a pay rate is.
func (s *Server) SetBurden(ctx context.Context, r *costingv1.SetBurdenRequest) (*costingv1.SetBurdenResponse, error) {
	now := s.now()
	burden, err := s.decodeBurden(r)
	if err != nil {
		return nil, err
	}
	var personErr error // judged inside, as in SetPayRate
	if burden.Person != id.Nil {
		_, personErr = s.People.GetPerson(ctx, &workflowv1.GetPersonRequest{Name: r.Person})
	}
	burden.Actor = caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*costingv1.SetBurdenResponse, error) {
		if personErr != nil {
			return nil, atPerson(personErr)
		}
		burden := burden
		err := s.recordPay(ctx, tx, burden.Person, r.PayLate, now, func(st store.Store, at time.Time) (costing.Term, error) {
			burden.RecordedAt = at
			if err := s.burdenAlone(ctx, st, burden, r.Replaces); err != nil {
				return costing.Term{}, err
			}
			return costing.Term{ID: burden.ID, RecordedAt: at, Burden: &burden}, st.InsertBurden(ctx, burden)
		})
		return &costingv1.SetBurdenResponse{Burden: encodeBurden(burden)}, err
	})
}

// burdenAlone refuses a second burden of the same people from one day on that does not say that it
// replaces the first. Fault: BURDEN_OVERLAPS.
func (s *Server) burdenAlone(ctx context.Context, st store.Store, burden costing.Burden, replaces bool) error {
	known, there, err := st.BurdenFrom(ctx, burden.Person, burden.Day)
	if err != nil || !there || replaces {
		return err
	}
	is, percent := "is "+percentOf(known.Share)+" percent", percentOf(known.Share)
	if known.Ends {
		is, percent = "is that of everybody again", ""
	}
	return fault.New(fault.Exists, "BURDEN_OVERLAPS", "From %s on the burden %s, as %s set it on %s. Say that the new one replaces it (replaces, or --replace), or give another day.",
		dayOf(known.Day), is, known.Actor, dayOf(known.RecordedAt.In(s.Shop.Zone))).At("effective_date").
		With("percent", percent).With("effective_date", dayOf(known.Day))
}

// maxBurden is twice the pay, in percent: more is a slip of the pen (common practice).
const maxBurden = 200

func (s *Server) decodeBurden(r *costingv1.SetBurdenRequest) (b costing.Burden, err error) {
	b.ID = id.New()
	if b.Person, err = somebody(r.Person); err != nil {
		return b, err
	}
	if b.Share, b.Ends, err = shareOrEnd(r, b.Person); err != nil {
		return b, err
	}
	b.Day, b.From, err = s.bookDay("effective_date", r.EffectiveDate)
	return b, err
}

// shareOrEnd reads what is paid on top of somebody's wages, or that they have nothing of their own any more.
// Faults: BURDEN_ENDS_FOR_ALL, PERCENT_MALFORMED, PERCENT_ABSURD.
func shareOrEnd(r *costingv1.SetBurdenRequest, person id.ID) (share int64, ends bool, err error) {
	switch {
	case !r.Ends:
		share, err = shareOf(r.Percent)
		return share, false, err
	case person == id.Nil:
		return 0, false, fault.New(fault.Invalid, "BURDEN_ENDS_FOR_ALL", "Only the burden of one person ends, and that of everybody counts for them again; say whose. That nobody has any from then on is 0 percent.").At("ends")
	case r.Percent != "":
		return 0, false, fault.New(fault.Invalid, "PERCENT_MALFORMED", "A burden that ends has no percentage; leave %q out, or do not say that it ends.", r.Percent).At("percent")
	}
	return 0, true, nil
}

// shareOf reads a percentage as millionths. Faults: PERCENT_MALFORMED, PERCENT_ABSURD.
func shareOf(percent string) (int64, error) {
	d, err := decimal.NewFromString(percent)
	share := d.Shift(4)
	if err != nil || len(percent) > 12 || strings.ContainsAny(percent, "eE") || !share.IsInteger() {
		return 0, fault.New(fault.Invalid, "PERCENT_MALFORMED", "%q is not a percentage of up to four digits after the point, such as 7.65.", percent).At("percent")
	}
	if d.IsNegative() || d.GreaterThan(decimal.New(maxBurden, 0)) {
		return 0, fault.New(fault.Invalid, "PERCENT_ABSURD", "A burden is from 0 to %d percent of the pay; %s is not.", maxBurden, percent).At("percent")
	}
	return share.IntPart(), nil
}

func percentOf(share int64) string { return decimal.New(share, -4).String() }

func encodeBurden(b costing.Burden) *costingv1.Burden {
	out := &costingv1.Burden{Percent: percentOf(b.Share), EffectiveDate: wire.ToDay(b.Day), Actor: b.Actor, CreateTime: wire.ToInstant(b.RecordedAt)}
	if b.Person != id.Nil {
		out.Person = id.Name("people", b.Person)
	}
	if out.Ends = b.Ends; b.Ends {
		out.Percent = ""
	}
	return out
}

// ListBurdens implements PayRuleService.
func (s *Server) ListBurdens(ctx context.Context, r *costingv1.ListBurdensRequest) (*costingv1.ListBurdensResponse, error) {
	person, err := somebody(r.Person)
	if err != nil {
		return nil, err
	}
	all, next, err := records(ctx, s, r, func(b costing.Burden) id.ID { return b.ID }, func(st store.Store, after id.ID, limit int32) ([]costing.Burden, error) {
		return st.ListBurdens(ctx, person, after, limit)
	})
	if err != nil {
		return nil, err
	}
	return &costingv1.ListBurdensResponse{Burdens: encoded(all, encodeBurden), NextPageToken: next}, nil
}
