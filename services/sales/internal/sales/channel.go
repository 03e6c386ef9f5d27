package sales

import (
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Channel is somewhere that pieces are offered, as its owner described it.
type Channel struct {
	ID         id.ID
	Name       string
	Key        string // the name folded, as names are compared
	Kind       string
	Fees       *Fees // nil: nobody said
	WebAddress string
	Retired    bool
	Version    int64
}

// Set describes the channel anew, all of it; one that was retired is taken up again. Faults: WEB_ADDRESS_MALFORMED and those of
// Fees.Check.
func (c *Channel) Set(said Channel) error {
	if said.WebAddress != "" && !strings.HasPrefix(said.WebAddress, "https://") && !strings.HasPrefix(said.WebAddress, "http://") {
		return fault.New(fault.Invalid, "WEB_ADDRESS_MALFORMED",
			"%q is no web address; write it with https:// in front.", said.WebAddress).At("web_address")
	}
	if said.Fees != nil {
		if err := said.Fees.Check(); err != nil {
			return err
		}
	}
	said.ID, said.Version = c.ID, c.Version+1
	*c = said
	return nil
}

// Retire takes the channel out of use. Fault: CHANNEL_RETIRED.
func (c *Channel) Retire() error {
	if err := c.Open("name"); err != nil {
		return err
	}
	c.Retired = true
	c.Version++
	return nil
}

// Open refuses a channel on which nothing more is listed. Fault: CHANNEL_RETIRED.
func (c Channel) Open(field string) error {
	if c.Retired {
		return fault.New(fault.Precondition, "CHANNEL_RETIRED", "%s is retired, and nothing more is listed there; describe it anew to take it up again.", c.Name).At(field)
	}
	return nil
}

// TakeFee sets the fee of a sale of which nobody said it by what the channel keeps, and reports whether it did. Fault:
// FEE_ABOVE_PRICE.
func (c Channel) TakeFee(a *Amounts) (bool, error) {
	if c.Fees == nil || a.Price == 0 {
		return false, nil
	}
	if a.Fee = c.Fees.Of(a.Price, a.Tax); a.Fee > a.Price {
		return false, fault.New(fault.Invalid, "FEE_ABOVE_PRICE",
			"By its fees %s would keep more than this price; check the price, or say what it really keeps.", c.Name).At("fee")
	}
	return true, nil
}

// ErrNoChannel is the fault about a channel that nobody described.
var ErrNoChannel = fault.New(fault.NotFound, "CHANNEL_NOT_FOUND", "There is no such channel; look it up in the list of channels, or describe it.").At("name")
