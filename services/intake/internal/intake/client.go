package intake

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Client is somebody whose pieces the shop refinishes.
type Client struct {
	ID      id.ID
	Number  int32 // 1, 2, 3 … as they were added
	Details ClientDetails
	Retired bool
	AddedAt time.Time
	Version int64
}

// ClientDetails is what is known of a client.
type ClientDetails struct {
	Name, Phone, Email string
	Address            []string   // line by line
	Exemption          *Exemption // nil: they pay tax
}

// Exemption is why a client pays no tax.
type Exemption struct {
	Reason string `json:"reason"`
	Number string `json:"number"` // of the certificate; empty: nobody showed one
}

// AddClient makes the client's first version, which has everything but its number.
func AddClient(d ClientDetails, at time.Time) Client {
	return Client{ID: id.New(), Details: d, AddedAt: at, Version: 1}
}

// Change writes all details anew. Fault: CLIENT_RETIRED.
func (c *Client) Change(d ClientDetails) error {
	if err := c.Serves(); err != nil {
		return err
	}
	c.Details = d
	c.Version++
	return nil
}

// Retire takes the client off the list. Fault: CLIENT_RETIRED.
func (c *Client) Retire() error {
	if err := c.Serves(); err != nil {
		return err
	}
	c.Retired = true
	c.Version++
	return nil
}

// Serves refuses a client with whom nothing new is begun. Fault: CLIENT_RETIRED.
func (c Client) Serves() error {
	if c.Retired {
		return fault.New(fault.Precondition, "CLIENT_RETIRED", "Client %d was taken off the list; add them again if they are back.", c.Number).At("client")
	}
	return nil
}
