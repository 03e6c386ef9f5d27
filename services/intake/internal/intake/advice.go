package intake

import "tackfree/pkg/money"

// Verdict is the answer to whether a prospect is to be bought.
type Verdict string

// The verdicts.
const (
	Yes    Verdict = "yes"     // what is asked leaves the target, as surely as is wanted
	OnlyIf Verdict = "only_if" // only on the conditions that are named
	No     Verdict = "no"      // not even as a gift; the conditions say what would make it one to take
)

// ConditionKind is what must hold.
type ConditionKind string

// The kinds of conditions.
const (
	PayAtMost     ConditionKind = "pay_at_most"
	SellsFor      ConditionKind = "sells_for"        // at what is asked, or of a gift, for at least this
	HoursAtMost   ConditionKind = "hours_at_most"    // at what is asked, or of a gift
	PerHourAtMost ConditionKind = "per_hour_at_most" // what an hour need leave, of a gift
	LeadTested    ConditionKind = "lead_test"        // before anybody sands it
	PriceLookedUp ConditionKind = "price_looked_up"  // for few like it were sold
)

// PurchaseCondition is one thing that must hold of a purchase, with its amount or its number.
type PurchaseCondition struct {
	Kind   ConditionKind `json:"kind"`
	Money  money.Amount  `json:"money,omitempty"`
	Number float64       `json:"number,omitempty"`
}

// MoneyRange is where an amount falls: a tenth are below low, half below likely, a tenth above high.
type MoneyRange struct {
	Low    money.Amount `json:"low"`
	Likely money.Amount `json:"likely"`
	High   money.Amount `json:"high"`
}

// NumberRange is where a number falls, as MoneyRange.
type NumberRange struct {
	Low    float64 `json:"low"`
	Likely float64 `json:"likely"`
	High   float64 `json:"high"`
}

// Driver is how much one thing decides that is not known: the most to pay, were it known to be low or
// high, and its share of what is uncertain.
type Driver struct {
	What       string       `json:"what"` // sale_price, hours, material or days
	MostIfLow  money.Amount `json:"most_if_low"`
	MostIfHigh money.Amount `json:"most_if_high"`
	GiftIfLow  float64      `json:"gift_if_low"` // of a gift, the chance of reaching the target
	GiftIfHigh float64      `json:"gift_if_high"`
	Share      float64      `json:"share"`
}

// Cost is one of the costs that are taken off the price, on average.
type Cost struct {
	What   string       `json:"what"` // labour, material, extra, travel, fee, floor or target
	Amount money.Amount `json:"amount"`
}

// Like is a sale of a piece much like this one.
type Like struct {
	Tag   int32        `json:"tag"`
	Title string       `json:"title"`
	Price money.Amount `json:"price"`
	Days  int32        `json:"days"` // 0: it was never listed
}

// Hazard is a caution that whoever does the work must know.
type Hazard struct {
	ID   string `json:"id"`
	Says string `json:"says"`
}

// Basis is what advice goes by.
type Basis struct {
	Sales       int32    `json:"sales"`
	SalesOfKind int32    `json:"sales_of_kind"`
	Belief      float64  `json:"belief"` // how far the price is believed rather than learned, 0 to 1
	TooFew      bool     `json:"too_few"`
	HoursUsual  float64  `json:"hours_usual"` // the share of the hours that goes by what is usual
	OwnPieces   int32    `json:"own_pieces"`
	PartsGiven  bool     `json:"parts_given"`
	Unpriced    []string `json:"unpriced"` // products of which no price is known; they are not counted
	Likes       []Like   `json:"likes"`
	FloorSaidOf Size     `json:"floor_said_of"` // the size that the floor's cost follows from; empty: it was said of this one, or of none
}

// Advice is what to pay, and why. It is a forecast, in whole minor units, and nothing of it is booked.
type Advice struct {
	Verdict        Verdict             `json:"verdict"`
	Conditions     []PurchaseCondition `json:"conditions"`
	MostToPay      money.Amount        `json:"most_to_pay"` // below zero where a gift is too dear
	Target         money.Amount        `json:"target"`      // per hour
	Chance         float64             `json:"chance"`      // wanted
	ChanceAtAsking float64             `json:"chance_at_asking"`
	ChanceOfLoss   float64             `json:"chance_of_loss"`
	ChanceAsGift   float64             `json:"chance_as_gift"`
	SalePrice      MoneyRange          `json:"sale_price"`
	Hours          NumberRange         `json:"hours"` // with those of fetching it
	Material       MoneyRange          `json:"material"`
	DaysToSell     NumberRange         `json:"days_to_sell"`
	DaysOfWork     int32               `json:"days_of_work"` // at the least
	Profit         MoneyRange          `json:"profit"`       // at what is asked
	PerHour        MoneyRange          `json:"per_hour"`
	Twentieths     []money.Amount      `json:"twentieths"` // of profit per hour
	Drivers        []Driver            `json:"drivers"`
	Costs          []Cost              `json:"costs"`
	Basis          Basis               `json:"basis"`
	Hazards        []Hazard            `json:"hazards"`
}
