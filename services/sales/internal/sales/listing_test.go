package sales_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	"tackfree/services/sales/internal/sales"
)

func offeredOn(t *testing.T, channels ...string) sales.Listing {
	t.Helper()
	l := sales.New(piece)
	must(t, l.List(piece, noon, wire.NameKey, channels[0], 30000, channels[1:]...))
	return l
}

func TestListing_Withdraw(t *testing.T) {
	l := offeredOn(t, "fair", "window")
	must(t, l.Withdraw(noon, "it goes to a show"))
	if l.State != sales.NotListed || l.Channel != "" || l.AskingPrice != 0 || len(l.Others) != 0 || l.Version != 2 || l.Withdrawn.Reason != "it goes to a show" {
		t.Errorf("withdrawn, it is %+v", l)
	}
	if err := l.Withdraw(noon, "again"); !fault.Is(err, "PIECE_NOT_LISTED") || l.Version != 2 {
		t.Errorf("withdrawn twice: %v, version %d", err, l.Version)
	}
	must(t, list(&l))
	if l.State != sales.Listed || l.Withdrawn != (sales.Withdrawal{}) {
		t.Errorf("listed again, it is %+v", l)
	}
	must(t, sell(&l))
	if err := l.Withdraw(noon, "sold"); !fault.Is(err, "PIECE_SOLD") {
		t.Errorf("withdrawn when sold: %v", err)
	}
}

func TestListing_ChangeChannels(t *testing.T) {
	cases := map[string]struct {
		add, remove []string
		reason      string
		want        []string
	}{
		"Add":              {add: []string{"web"}, want: []string{"fair", "window", "web"}},
		"Remove":           {remove: []string{"Window"}, want: []string{"fair"}},
		"RemoveFirst":      {remove: []string{"fair"}, want: []string{"window"}},
		"Exchange":         {add: []string{"web"}, remove: []string{"fair", "window"}, want: []string{"web"}},
		"Nothing":          {reason: "CHANNELS_UNCHANGED"},
		"ThereAlready":     {add: []string{"FAIR"}, reason: "CHANNEL_LISTED_TWICE"},
		"TwiceAtOnce":      {add: []string{"web", "Web"}, reason: "CHANNEL_LISTED_TWICE"},
		"TwiceFolded":      {add: []string{"Straße", "STRASSE"}, reason: "CHANNEL_LISTED_TWICE"},
		"RemoveFolded":     {add: []string{"web"}, remove: []string{"ＦＡＩＲ"}, want: []string{"window", "web"}},
		"NotThere":         {remove: []string{"web"}, reason: "NOT_ON_CHANNEL"},
		"Nowhere":          {remove: []string{"fair", "window"}, reason: "LISTING_NEEDS_CHANNEL"},
		"RemovedTwiceOver": {remove: []string{"fair", "fair"}, reason: "NOT_ON_CHANNEL"},
	}
	for name, c := range cases {
		l := offeredOn(t, "fair", "window")
		err := l.ChangeChannels(c.add, c.remove, wire.NameKey)
		if c.reason != "" {
			c.want = []string{"fair", "window"}
		}
		if c.reason == "" && (err != nil || l.Version != 2) || c.reason != "" && (!fault.Is(err, c.reason) || l.Version != 1) {
			t.Errorf("%s: %v, version %d, want %q", name, err, l.Version, c.reason)
		}
		if diff := cmp.Diff(c.want, l.Channels()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// What stands in several places is sold in one, and somebody says in which.
func TestListing_SellOnSeveral(t *testing.T) {
	l := offeredOn(t, "fair", "window")
	sale := sales.Sale{ID: id.New(), Amounts: sales.Amounts{Price: 24000}}
	if _, err := l.Sell(piece, sale); !fault.Is(err, "LISTED_ON_SEVERAL_CHANNELS") || l.State != sales.Listed {
		t.Errorf("Sell = %v, %s, want LISTED_ON_SEVERAL_CHANNELS", err, l.State)
	}
	sale.Channel = "window"
	sold, err := l.Sell(piece, sale)
	if err != nil || sold.Channel != "window" || len(l.Others) != 0 || l.Channels() != nil {
		t.Errorf("Sell = %+v, %v, stands on %v", sold, err, l.Channels())
	}
}
