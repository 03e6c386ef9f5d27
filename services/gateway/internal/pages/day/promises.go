package day

import (
	"cmp"
	"context"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// promises are what was promised and may not be kept, and what fits.
type promises struct {
	Risky []promise
	Fit   []promise
	More  int // promised later, and not reckoned
}

// promise is a promised piece against what is left to do.
type promise struct {
	Tag   int32
	Title string
	By    *timestamppb.Timestamp
	State string // over, late, tight, unplanned or fits
	Left  left
	Ends  *timestamppb.Timestamp
	Late  time.Duration // after the promise; below zero: to spare
}

// Bounds of what is looked at: a promise costs one question.
const (
	mostPromises = 24
	mostFit      = 6
	tight        = 8 * time.Hour // to spare; less than that is tight
)

// promised are the lines of promised pieces that are not done, the soonest first.
func promised(board []*workflowv1.BoardLine) (out []*workflowv1.BoardLine) {
	for _, l := range board {
		if l.PromiseTime != nil && !l.Scrapped {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b *workflowv1.BoardLine) int {
		return cmp.Or(byTime(a.PromiseTime, b.PromiseTime), cmp.Compare(a.PieceTag, b.PieceTag))
	})
	return out
}

// stagesOf reads the stages of pieces.
func stagesOf(ctx context.Context, s *clients.Suite, lines []*workflowv1.BoardLine) ([][]*workflowv1.Stage, error) {
	out := make([][]*workflowv1.Stage, len(lines))
	reading, ctx := errgroup.WithContext(ctx)
	reading.SetLimit(asked)
	for i, l := range lines {
		reading.Go(func() error {
			r, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: l.Piece})
			out[i] = r.GetStages()
			return err
		})
	}
	return out, reading.Wait()
}

// asked is how many questions of one kind are on their way at once.
const asked = 6

// promises weighs each promise against what is left.
func (f *waitFacts) promises() (out promises) {
	h, now := hoursOf(f.people, f.now.In(f.voice.Zone)), f.now.In(f.voice.Zone)
	for i, l := range f.promised {
		it := weigh(l, h.reckon(f.stages[i], now), now)
		it.Title = f.called[l.Piece].Title
		if it.State == "fits" {
			out.Fit = append(out.Fit, it)
		} else {
			out.Risky = append(out.Risky, it)
		}
	}
	fits := 0
	out.Fit, fits = atMost(out.Fit, mostFit)
	out.More = f.notReckoned + fits
	return out
}

func weigh(l *workflowv1.BoardLine, rest left, now time.Time) promise {
	it := promise{Tag: l.PieceTag, By: l.PromiseTime, Left: rest, Ends: timestamppb.New(rest.Ends), Late: rest.Ends.Sub(l.PromiseTime.AsTime()).Round(time.Minute)}
	switch by := l.PromiseTime.AsTime(); {
	case by.Before(now):
		it.State = "over"
	case l.Stages == 0:
		it.State = "unplanned"
	case rest.Ends.After(by):
		it.State = "late"
	case by.Sub(rest.Ends) < tight:
		it.State = "tight"
	default:
		it.State = "fits"
	}
	return it
}
