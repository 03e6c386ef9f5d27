package server_test

import (
	"cmp"
	"slices"

	"pgregory.net/rapid"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// whole is the entry with the times of its stretch.
func (e worked) whole() worked {
	if e.Batch != none {
		e.Start, e.End = e.From, e.To
	}
	return e
}

// beside are what a person is down for between two instants, the first first; to 0 is for ever. A
// stretch that runs on a batch is one.
func (m *model) beside(who, from, to int) (all []worked) {
	for _, e := range m.entries[who] {
		if (e.End == 0 || e.End > from) && (to == 0 || e.Start < to) {
			all = append(all, e)
		}
	}
	slices.SortStableFunc(all, func(a, b worked) int { return a.Start - b.Start })
	return slices.CompactFunc(all, func(a, b worked) bool { return a.End == 0 && b.End == 0 })
}

// entryNamed is what counts by a name; nil is nothing any more.
func (m *model) entryNamed(who int, name string) *worked {
	i := slices.IndexFunc(m.entries[who], func(e worked) bool { return e.name == name })
	if i < 0 {
		return nil
	}
	return &m.entries[who][i]
}

// learn learns by what names the service keeps what a person is down for.
func (m *model) learn(who int) {
	for _, e := range m.f.entries(m.t, m.people[who]) {
		for i := range m.entries[who] {
			known := &m.entries[who][i]
			if !e.Superseded && known.Start == secondOf(e.StartTime) && known.Job == m.stageNamed(e.Stage) && known.Batch == m.batchNamed(e.Batch) {
				known.name = e.Name
			}
		}
	}
}

// remember notes who is down for what, what is finished and where all stands, and puts that back if
// it is told to.
func (m *model) remember() (undo func()) {
	placed, stages, entries, batches := slices.Clone(m.placed), slices.Clone(m.stages), slices.Clone(m.entries), slices.Clone(m.batches)
	for who := range entries {
		entries[who] = slices.Clone(entries[who])
	}
	for i := range batches {
		batches[i].Shares = slices.Clone(batches[i].Shares)
	}
	return func() { m.placed, m.stages, m.entries, m.batches = placed, stages, entries, batches }
}

// comparePlaces compares what stands at the stations, and since when.
func (m *model) comparePlaces(rt *rapid.T) {
	listed := m.f.listed(m.t)
	for n, s := range m.stations {
		var got, want []modelPlace
		for _, p := range listed[s.name[len("stations/"):]].Placements {
			piece := slices.IndexFunc(m.pieces, func(piece modelPiece) bool { return piece.name == p.Piece })
			got = append(got, modelPlace{Piece: piece, Part: slices.Index(m.pieces[piece].parts, p.Part), Station: n,
				From: int(p.SinceTime.AsTime().Sub(morning).Milliseconds())})
		}
		for _, p := range m.placed {
			if p.Station == n && p.to == 0 {
				want = append(want, p)
			}
		}
		order := func(a, b modelPlace) int { return cmp.Or(a.Piece-b.Piece, a.Part-b.Part) }
		slices.SortFunc(want, order)
		slices.SortFunc(got, order)
		same(rt, s.name, want, got)
	}
}

// compareReviews compares what the lead has to settle about a person, and has settled.
func (m *model) compareReviews(rt *rapid.T, who int) {
	for _, settled := range []bool{false, true} {
		r, err := workflowv1.NewClockReviewServiceClient(m.f.Conn).ListClockReviews(m.t.Context(),
			&workflowv1.ListClockReviewsRequest{Person: m.people[who], IncludeSettled: settled, PageSize: 500})
		if err != nil {
			rt.Fatal(err)
		}
		var got, want []shownReview
		for _, review := range r.ClockReviews {
			got = append(got, m.shownReview(review))
		}
		for _, review := range m.reviews {
			if review.Who == who && (settled || review.Settlement == "") {
				want = append(want, review.shown(m))
			}
		}
		same(rt, "reviews", want, got)
	}
}

// shownReview is a review as the service shows it.
type shownReview struct {
	Name, Settlement       string
	Kind                   workflowv1.ClockReview_Kind
	Contradicts            []string
	Stage, Batch, Indirect string
	Start, End             int
	ByShop                 [2]int // of a wrong clock's
}

func (m *model) shownReview(r *workflowv1.ClockReview) shownReview {
	out := shownReview{Name: r.Name, Settlement: r.Settlement, Kind: r.Kind, Stage: r.Sent.Stage, Batch: r.Sent.Batch, Indirect: r.Sent.Indirect,
		Start: secondOf(r.Sent.StartTime), End: secondOf(r.Sent.EndTime), ByShop: [2]int{secondOf(r.ShopStartTime), secondOf(r.ShopEndTime)}}
	for _, e := range r.ClockEntries {
		out.Contradicts = append(out.Contradicts, e.Name)
	}
	slices.Sort(out.Contradicts)
	return out
}

func (r modelReview) shown(m *model) shownReview {
	out := shownReview{Name: r.name, Settlement: r.Settlement, Kind: r.Kind, Start: r.start, End: r.end, Contradicts: slices.Sorted(slices.Values(r.Contradicts))}
	if r.wrong {
		shop := r.byShop()
		out.ByShop = [2]int{shop.start, shop.end}
	}
	if r.ends.name == "" {
		out.Stage, out.Batch, out.Indirect = m.name(r.to)
	}
	return out
}
