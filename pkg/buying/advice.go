package buying

// Range is where something falls: a tenth are below Low, half below Likely, a tenth above High.
type Range struct{ Low, Likely, High float64 }

// Verdict is the answer in a word.
type Verdict int

// What to do about a prospect.
const (
	OnlyIf Verdict = iota // for at most MostToPay
	Yes                   // what is asked reaches the target as surely as is wanted
	No                    // not even as a gift
)

// What is something that nobody knows for sure.
type What int

// In the order in which they are named where they decide alike.
const (
	SalePrice What = iota
	Hours
	Material
	Days
	numWhat
)

// Driver is how much one thing decides that is not known.
type Driver struct {
	What          What
	IfLow, IfHigh float64 // the most to pay, were it known to be at its tenth, or at its ninetieth percentile
	GiftIfLow     float64 // of a gift, the chance of reaching the target, likewise
	GiftIfHigh    float64
	Share         float64 // of the variance of what is left over the target, 0 to 1
}

// Costs is what is taken off the price, on average, in minor units.
type Costs struct {
	Fee, Labour, Material, Fixed, Floor float64
	Late                                float64 // what its price is more than its salvage, where it is not sold in time
	Target                              float64 // what the target wants for the hours
}

// Advice is what to pay for a prospect, and why. Money is in minor units.
type Advice struct {
	Verdict        Verdict
	MostToPay      float64 // for the target with the chance that is wanted; below zero where a gift is too dear
	ChanceAtAsking float64 // of reaching the target at what is asked
	ChanceAsGift   float64 // of reaching it when nothing is paid
	ChanceOfLoss   float64 // at what is asked

	SalePrice, Material Range
	Hours               Range // those that are fixed too
	Days                Range
	Profit, PerHour     Range // at what is asked

	// At what is asked: the profit per hour that 0, 5, 10 … 100 of a hundred outcomes stay under.
	Twentieths [21]float64

	Drivers []Driver // what decides most first; what decides nothing is left out
	Costs   Costs

	// At what is asked, or as a gift where the verdict is No; known for sure, and the rest as it is: the
	// price that it must sell for, and the hours, fixed ones too, that it may take, so that the target is
	// reached as surely as is wanted. SellsFor is nil where too many are not sold in time, HoursAtMost
	// where no number of hours does it, or any.
	SellsFor    *float64
	HoursAtMost *float64
	// Where the verdict is No: what each hour leaves, of a gift, as surely as is wanted; nil: nothing.
	PerHourAtMost *float64
}
