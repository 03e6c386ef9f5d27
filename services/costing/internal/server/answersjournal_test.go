package server_test

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func (b *bench) journal(t *testing.T, r *costingv1.ListJournalRequest) []*costingv1.JournalEntry {
	t.Helper()
	return pages(t, func(ctx context.Context, size int32, token string) ([]*costingv1.JournalEntry, string, error) {
		r.PageSize, r.PageToken = size, token
		got, err := b.answers.ListJournal(ctx, r)
		return got.GetEntries(), got.GetNextPageToken(), err
	})
}

// Every entry of the journal balances, they come in the order of time, none twice, and all together are
// the balances of the accounts.
func TestServer_ListJournal(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	balances, last, seen := map[string]int64{}, time.Time{}, map[string]bool{}
	for _, e := range b.journal(t, &costingv1.ListJournalRequest{}) {
		var debits, credits int64
		for _, l := range e.Lines {
			debits += cents(l.Debit)
			credits += cents(l.Credit)
			balances[l.Account] += cents(l.Debit) - cents(l.Credit)
			if (l.Debit == nil) == (l.Credit == nil) || cents(l.Debit) < 0 || cents(l.Credit) < 0 {
				t.Errorf("a line of %s is on %v and %v", e.Id, l.Debit, l.Credit)
			}
		}
		if debits != credits || debits == 0 || e.Description == "" || e.EventId == "" || e.OccurTime.AsTime().Before(last) || seen[e.Id] {
			t.Errorf("entry %v: debits %d, credits %d", e, debits, credits)
		}
		last, seen[e.Id] = e.OccurTime.AsTime(), true
	}
	shop, err := b.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range shop.Accounts {
		if balances[a.Account] != cents(a.Balance) {
			t.Errorf("the journal's %s comes to %d, the account to %d", a.Account, balances[a.Account], cents(a.Balance))
		}
		delete(balances, a.Account)
	}
	for account, sum := range balances {
		if sum != 0 {
			t.Errorf("the journal has %d on %s, of which there is no balance", sum, account)
		}
	}
}

func TestServer_ListJournal_OfADay(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	var got []string
	for _, e := range b.journal(t, &costingv1.ListJournalRequest{FromDate: dayOf(3, 12), ToDate: dayOf(3, 12)}) {
		for _, l := range e.Lines {
			if l.Account != "cost_of_goods_sold" && l.Account != "work_in_process" && l.Account != "finished_goods" { // in how many steps it moved is a matter of what was told when
				got = append(got, fmt.Sprint(e.Date.Month, "-", e.Date.Day, " ", l.AccountTitle, " ", cents(l.Debit), " ", cents(l.Credit), " ", l.Tag, ": ", e.Description))
			}
		}
	}
	sold := " 8: A piece is sold or a commission invoiced; the channel keeps its fee, and the tax is the tax office's."
	differ(t, "the 12th", []string{"3-12 Cash clearing 6000 0" + sold, "3-12 Revenue 0 6000" + sold}, got)
}

// A watcher sees how the shop stands, and each change of it.
func TestServer_WatchShop(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	ctx, cancel := context.WithTimeout(t.Context(), soon)
	t.Cleanup(cancel)
	stream, err := b.answers.WatchShop(ctx, &costingv1.WatchShopRequest{})
	if err != nil {
		t.Fatal(err)
	}
	// until waits for a state; between two there may be others.
	until := func(what string, ok func(*costingv1.WatchShopResponse) bool) (last *costingv1.WatchShopResponse) {
		t.Helper()
		for {
			r, err := stream.Recv()
			if err != nil {
				t.Fatalf("%s does not come: %v; the last was %v", what, err, last)
			}
			if proto.Equal(last, r) {
				t.Errorf("it says the same again: %v", r)
			}
			if last = r; ok(r) {
				return r
			}
		}
	}
	first := until("the present state", func(*costingv1.WatchShopResponse) bool { return true })
	if first.InHand != 2 || first.Listed != 0 || first.Sold != 3 || first.Scrapped != 1 || first.Provisional != 1 || cents(first.Total.Revenue) != 250_00 ||
		cents(first.Today.Revenue) != 0 || first.Today.Date.Day != 20 || len(first.Accounts) == 0 {
		t.Errorf("at first: %v", first)
	}
	b.tells("materials", id.New(), id.Nil, march(20, 12, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_StockReceived{StockReceived: &eventsv1.StockReceived{Cost: usd(50_00)}}}) // goes to no piece
	b.until(t, "the delivery", func() bool { return b.balance(t, "materials_on_hand") == 42_00 })
	b.worked(b.ola, job{b.table, b.tabling.id, "strip"}, 1, march(20, 13, 0), 60)
	b.issued(b.tabling, 1, 2_50, march(20, 14, 0))
	b.listedAndSold(b.table, "market", march(20, 14, 30), 300_00, 0)
	got := until("the sale of today", func(r *costingv1.WatchShopResponse) bool {
		return r.Sold == 4 && cents(r.Today.Labour) == 30_00 && cents(r.Today.Material) == 2_50
	})
	if cents(got.Today.Revenue) != 300_00 || got.InHand != 1 || cents(got.Total.Material) != cents(first.Total.Material)+2_50 {
		t.Errorf("after it: %v", got)
	}
	b.rate(t, b.rae, 12_00)
	until("the rate of Rae", func(r *costingv1.WatchShopResponse) bool { return r.Provisional == 0 })
	stopped := make(chan struct{})
	go func() {
		b.Stop()
		close(stopped)
	}()
	for {
		if _, err = stream.Recv(); err != nil {
			break
		}
	}
	if !fault.Is(err, "SERVICE_STOPPING") {
		t.Errorf("Recv while the service stops = %v, want SERVICE_STOPPING", err)
	}
	<-stopped
}

// A watcher who looks at a shop in which nothing happens is told nothing twice.
func TestServer_WatchShop_NothingNew(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	ctx, cancel := context.WithTimeout(svctest.Ctx(t), 4*time.Second)
	t.Cleanup(cancel)
	stream, err := b.answers.WatchShop(ctx, &costingv1.WatchShopRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err != nil {
		t.Fatal(err)
	}
	if r, err := stream.Recv(); err == nil {
		t.Errorf("nothing happens, and the watcher is told %v", r)
	}
}

// Who takes the journal again gets what was recorded since, of whatever day it is: one half before an
// instant and one from it on are the whole.
func TestServer_ListJournal_RecordedSince(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	all := b.journal(t, &costingv1.ListJournalRequest{})
	var times []time.Time
	for _, e := range all {
		times = append(times, e.RecordTime.AsTime())
	}
	slices.SortFunc(times, time.Time.Compare)
	middle := times[len(times)/2].Truncate(time.Millisecond)
	since := b.journal(t, &costingv1.ListJournalRequest{RecordedSince: timestamppb.New(middle)})
	n := 0
	for _, at := range times {
		if !at.Before(middle) {
			n++
		}
	}
	if len(since) != n || n == 0 || n == len(all) {
		t.Errorf("%d of %d entries were recorded since the middle, want %d", len(since), len(all), n)
	}
}
