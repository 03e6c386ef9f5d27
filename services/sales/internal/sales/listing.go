package sales

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
)

// mostChannels is on how many channels one piece stands at most.
const mostChannels = 20

// Withdrawal is how a listing ended without a sale; zero: it did not, or the piece was listed or sold since.
type Withdrawal struct {
	At     time.Time
	Reason string
}

// Channels are all on which the piece is offered now, the one that it was listed on first.
func (l *Listing) Channels() []string {
	if l.State != Listed {
		return nil
	}
	return append([]string{l.Channel}, l.Others...)
}

// Withdraw ends the listing without a sale. Faults: PIECE_SOLD, PIECE_NOT_LISTED, PIECE_HELD.
func (l *Listing) Withdraw(at time.Time, reason string) error {
	if err := l.offered(); err != nil {
		return err
	}
	if err := l.Free(at.Location()); err != nil {
		return err
	}
	l.end(NotListed)
	l.Channel, l.AskingPrice, l.Withdrawn = "", 0, Withdrawal{At: at, Reason: reason}
	l.Version++
	return nil
}

// end takes the piece off all its channels.
func (l *Listing) end(state State) { l.State, l.Others, l.Withdrawn = state, nil, Withdrawal{} }

// offered refuses a piece that is not for sale now. Faults: PIECE_SOLD, PIECE_NOT_LISTED.
func (l *Listing) offered() error {
	switch l.State {
	case Sold:
		return l.sold()
	case NotListed:
		return fault.New(fault.Precondition, "PIECE_NOT_LISTED", "Piece %d is not listed; list it at a price first.", l.Tag)
	}
	return nil
}

// Fold makes a channel's name the key that channels are kept and compared by: alike for names that people take for the same.
type Fold func(name string) string

// ChangeChannels offers the piece on some channels too, and on some no longer. If the first one goes, the next takes its place.
// Faults: PIECE_SOLD, PIECE_NOT_LISTED, CHANNELS_UNCHANGED, CHANNEL_LISTED_TWICE, NOT_ON_CHANNEL, LISTING_NEEDS_CHANNEL,
// TOO_MANY_CHANNELS.
func (l *Listing) ChangeChannels(add, remove []string, fold Fold) error {
	if err := l.offered(); err != nil {
		return err
	}
	if len(add)+len(remove) == 0 {
		return fault.New(fault.Invalid, "CHANNELS_UNCHANGED", "Say on which channel piece %d is offered too, or on which no longer.", l.Tag).At("add")
	}
	all := l.Channels()
	for _, name := range remove {
		i := slices.IndexFunc(all, func(c string) bool { return fold(c) == fold(name) })
		if i < 0 {
			return fault.New(fault.Precondition, "NOT_ON_CHANNEL", "Piece %d is not offered on %s.", l.Tag, name).At("remove")
		}
		all = slices.Delete(all, i, i+1)
	}
	return l.stand(append(all, add...), fold, "add")
}

// stand puts a listed piece on channels. Faults: CHANNEL_LISTED_TWICE, LISTING_NEEDS_CHANNEL, TOO_MANY_CHANNELS.
func (l *Listing) stand(on []string, fold Fold, field string) error {
	switch twice := namedTwice(on, fold); {
	case len(on) == 0:
		return fault.New(fault.Precondition, "LISTING_NEEDS_CHANNEL", "Piece %d would be offered nowhere; withdraw it instead.", l.Tag).At("remove")
	case len(on) > mostChannels:
		return fault.New(fault.Invalid, "TOO_MANY_CHANNELS", "A piece is offered on at most %d channels at once.", mostChannels).At(field)
	case twice != "":
		return fault.New(fault.Invalid, "CHANNEL_LISTED_TWICE", "Piece %d would be on %s twice; name each channel once.", l.Tag, twice).At(field)
	}
	l.Channel, l.Others = on[0], slices.Clone(on[1:])
	l.Version++
	return nil
}

// namedTwice is a channel that is named twice; empty: none is.
func namedTwice(on []string, fold Fold) string {
	for i, name := range on {
		if slices.ContainsFunc(on[:i], func(before string) bool { return fold(before) == fold(name) }) {
			return name
		}
	}
	return ""
}

// SoldOn is the channel of a sale: the given one, or else the only one of the listing, or Direct. Fault:
// LISTED_ON_SEVERAL_CHANNELS.
func (l *Listing) SoldOn(given string) (string, error) {
	if given == "" && len(l.Others) > 0 {
		return "", fault.New(fault.Precondition, "LISTED_ON_SEVERAL_CHANNELS",
			"Piece %d is offered on %s; say on which of them it was sold.", l.Tag, strings.Join(l.Channels(), ", ")).At("channel")
	}
	return cmp.Or(given, l.Channel, Direct), nil
}
