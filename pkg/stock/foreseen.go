package stock

// Used is what was used on one day, and how many days before a plan had reserved it: zero when
// none had.
type Used struct {
	Day    int // from 0
	Amount float64
	Ahead  float64
}

// Unforeseen is what was used on each of some days that nobody knew of so many days before: as
// many as a delivery takes. What was known sooner need not be held, it can be bought in time.
func Unforeseen(used []Used, days int, ahead float64) []float64 {
	each := make([]float64, max(0, days))
	for _, u := range used {
		if u.Day >= 0 && u.Day < days && u.Ahead < ahead {
			each[u.Day] += u.Amount
		}
	}
	return each
}
