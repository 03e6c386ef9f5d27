package price

import (
	"fmt"
	"strconv"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/axis"
	"tackfree/services/gateway/internal/words"
)

// seen is how the shop's own pieces of the kind were sold, whatever was asked: by the days of the curve's table what share
// was sold, and how many stood longer.
type seen struct {
	Says             string // of how many; empty: too few were put up, or the days are not from a listing on
	Shares, Standing []string
}

// stepsSeen are the steps where they can lie beside the ways: those are from today, and these from a listing on.
func stepsSeen(r *salesv1.AdvisePriceResponse) []*salesv1.AdvisePriceResponse_Seen {
	if r.DaysListed > 0 {
		return nil
	}
	return r.Seen
}

func tableOf(v *words.Voice, r *salesv1.AdvisePriceResponse, days []int) (s seen) {
	steps := stepsSeen(r)
	if len(steps) == 0 {
		return s
	}
	s.Says = v.N("price.seen", int(r.SeenListings))
	for _, day := range days {
		share, standing := 0.0, r.SeenListings
		for _, x := range steps {
			if int(x.Day) <= day {
				share, standing = x.Share, x.Standing-x.Sold
			}
		}
		s.Shares, s.Standing = append(s.Shares, v.Percent(share)), append(s.Standing, strconv.Itoa(int(standing)))
	}
	return s
}

// seenOf is the steps as a way of an SVG path; what lies beyond the rule is left out.
func seenOf(steps []*salesv1.AdvisePriceResponse_Seen, days, share axis.Axis) string {
	if len(steps) == 0 {
		return ""
	}
	var path strings.Builder
	fmt.Fprintf(&path, "M%d %d", days.At(0), share.At(0))
	for _, s := range steps {
		if int64(s.Day) > days.High {
			break
		}
		fmt.Fprintf(&path, "H%dV%d", days.At(int64(s.Day)), share.At(mille(s.Share)))
	}
	return path.String()
}
