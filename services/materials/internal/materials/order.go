package materials

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
)

// OrderState is how far an order has come; the package comment says what leads from which to which.
type OrderState string

// The states of an order.
const (
	Ordered        OrderState = "ordered"       // nothing has come yet
	PartReceived   OrderState = "part received" // something has come, and something is expected
	OrderReceived  OrderState = "received"      // all has come
	OrderClosed    OrderState = "closed"        // what has not come will not
	OrderCancelled OrderState = "cancelled"     // nothing came or will
)

func (s OrderState) open() bool { return s == Ordered || s == PartReceived }

// Order is what the shop asked a supplier for.
type Order struct {
	ID           id.ID
	Number       int64 // short, for people; rising from 1
	Supplier     id.ID
	SupplierName string
	State        OrderState
	OrderedAt    time.Time
	ExpectedAt   time.Time // the day on which all of it is expected
	Reason       string    // why it was closed or cancelled
	Note         string
	Actor        string
	Lines        []OrderLine
	Version      int64 // counts its facts
}

// OrderLine is one package, and how many of it. Amounts are in the product's unit.
type OrderLine struct {
	Number      int32 // from 1 on
	Product     id.ID
	ProductName string
	Unit        quantity.Unit
	Package     string
	Count       int32
	Content     decimal.Decimal // of a package
	Price       money.Amount    // of a package
	Received    decimal.Decimal
	FirstAt     time.Time // when something of it came first; zero: nothing has
}

// Quantity is all that was ordered.
func (l OrderLine) Quantity() decimal.Decimal { return l.Content.Mul(decimal.NewFromInt32(l.Count)) }

// Open is what has not come.
func (l OrderLine) Open() decimal.Decimal {
	return decimal.Max(decimal.Zero, l.Quantity().Sub(l.Received))
}

// Cost is what the line costs.
func (l OrderLine) Cost() money.Amount { return l.Price * money.Amount(l.Count) }

// Total is what the order costs.
func (o Order) Total() (total money.Amount) {
	for _, l := range o.Lines {
		total += l.Cost()
	}
	return total
}

// OrderFact is something that became true of an order. Each makes its next version: the last of
// those that a change gives made the Version that it left behind.
type OrderFact interface{ orderFact() }

// The facts of an order.
type (
	// OrderPlaced says that it went out.
	OrderPlaced struct{}
	// OrderChanged says that something of it came, or that the rest will not, and why.
	OrderChanged struct {
		State  OrderState
		Reason string
	}
)

func (OrderPlaced) orderFact()  {}
func (OrderChanged) orderFact() {}

// PlaceOrder makes the order's first version, with its lines numbered. Fault: ORDER_ABSURD, of more
// than anybody pays.
func PlaceOrder(o Order) (Order, []OrderFact, error) {
	for n := range o.Lines {
		o.Lines[n].Number = int32(n) + 1
		if o.Lines[n].Price > money.Max/money.Amount(o.Lines[n].Count)/money.Amount(len(o.Lines)) {
			return o, nil, fault.New(fault.Invalid, "ORDER_ABSURD", "Line %d costs more than any shop's books hold; check its count and price.", n+1).
				At(fmt.Sprintf("lines[%d].price", n))
		}
	}
	o.State, o.Version = Ordered, 1
	return o, []OrderFact{OrderPlaced{}}, nil
}

// Receive takes in an amount of a line, in the product's unit. More than was ordered is taken in
// too, and said. Faults: ORDER_CLOSED, ORDER_LINE_NOT_FOUND.
func (o *Order) Receive(line int32, amount decimal.Decimal, at time.Time) ([]OrderFact, error) {
	if o.State == OrderClosed || o.State == OrderCancelled {
		return nil, fault.New(fault.Precondition, "ORDER_CLOSED",
			"Order %d is %s, so nothing more is expected of it; receive this without an order.", o.Number, o.State).At("order_line")
	}
	if line < 1 || int(line) > len(o.Lines) {
		return nil, fault.New(fault.NotFound, "ORDER_LINE_NOT_FOUND", "Order %d has no line %d; it has %d.", o.Number, line, len(o.Lines)).At("order_line")
	}
	l := &o.Lines[line-1]
	l.Received = l.Received.Add(amount)
	if l.FirstAt.IsZero() || at.Before(l.FirstAt) {
		l.FirstAt = at
	}
	o.State = PartReceived
	if !o.anyOpen() {
		o.State = OrderReceived
	}
	return o.tell(l.tooMuch()), nil
}

// Unreceive takes back that something of a line came: its delivery was a slip. first is when the
// first came of what stands; zero: nothing does. What is closed stays closed.
func (o *Order) Unreceive(line int32, amount decimal.Decimal, first time.Time) []OrderFact {
	l := &o.Lines[line-1]
	l.Received, l.FirstAt = decimal.Max(decimal.Zero, l.Received.Sub(amount)), first
	if open := o.anyOpen(); open && (o.State == PartReceived || o.State == OrderReceived) {
		o.State = Ordered
		if slices.ContainsFunc(o.Lines, func(l OrderLine) bool { return l.Received.IsPositive() }) {
			o.State = PartReceived
		}
	}
	return o.tell("A delivery of it was undone.")
}

func (o Order) anyOpen() bool {
	for _, l := range o.Lines {
		if l.Open().IsPositive() {
			return true
		}
	}
	return false
}

// tooMuch says by how much more came than was ordered; empty: by none.
func (l OrderLine) tooMuch() string {
	more := quantity.Quantity{Value: l.Received.Sub(l.Quantity()), Unit: l.Unit}
	if !more.Positive() {
		return ""
	}
	return fmt.Sprintf("Of line %d, %s, %s more came than was ordered.", l.Number, l.ProductName, shown(more))
}

// Close says that the rest will not come. Faults: ORDER_CLOSED, ORDER_RECEIVED.
func (o *Order) Close(reason string) ([]OrderFact, error) {
	if err := o.standing(); err != nil {
		return nil, err
	}
	o.State, o.Reason = OrderClosed, reason
	return o.tell(reason), nil
}

// Cancel says that nothing of it will come. Faults: ORDER_CLOSED, ORDER_RECEIVED, ORDER_PART_RECEIVED.
func (o *Order) Cancel(reason string) ([]OrderFact, error) {
	if err := o.standing(); err != nil {
		return nil, err
	}
	if o.State == PartReceived {
		return nil, fault.New(fault.Precondition, "ORDER_PART_RECEIVED", "Something of order %d has come; close it instead.", o.Number).At("name")
	}
	o.State, o.Reason = OrderCancelled, reason
	return o.tell(reason), nil
}

// standing refuses what is over already.
func (o Order) standing() error {
	switch {
	case o.State == OrderReceived:
		return fault.New(fault.Precondition, "ORDER_RECEIVED", "All of order %d has come.", o.Number).At("name")
	case !o.State.open():
		return fault.New(fault.Precondition, "ORDER_CLOSED", "Order %d is %s already.", o.Number, o.State).At("name")
	}
	return nil
}

func (o *Order) tell(reason string) []OrderFact {
	o.Version++
	return []OrderFact{OrderChanged{State: o.State, Reason: reason}}
}
