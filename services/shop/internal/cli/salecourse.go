package cli

import (
	"fmt"
	"math"
	"strings"

	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// A chart is as high as reads at a glance, and as wide as leaves room for the figures.
const (
	courseRows = 12
	courseWide = 40
)

// printCourse draws the chance that a piece is sold by the end of a day, in the ways that are advised and
// tried; a bar for each row, so that it reads without colours, and aloud.
func printCourse(e *env, ways []*salesv1.AdvisePriceResponse_Way) {
	drawn := drawnWays(ways)
	if len(drawn) == 0 || len(drawn[0].SoldBy) == 0 {
		return
	}
	fmt.Fprintf(e.out, "Sold by the end of the day, %s:\n", both(drawn))
	for _, i := range rowsAmong(len(drawn[0].SoldBy), courseRows) {
		at := drawn[0].SoldBy[i]
		line := fmt.Sprintf("  day %3d  %9s  %-*s", at.Day, inPercent(at.Share), courseWide, bar(at.Share))
		for _, other := range drawn[1:] {
			if i < len(other.SoldBy) {
				line += fmt.Sprintf("  %9s", inPercent(other.SoldBy[i].Share))
			}
		}
		fmt.Fprintln(e.out, strings.TrimRight(line, " "))
	}
	fmt.Fprintln(e.out)
}

// drawnWays are the advised way, and the tried one beside it.
func drawnWays(ways []*salesv1.AdvisePriceResponse_Way) (drawn []*salesv1.AdvisePriceResponse_Way) {
	for _, kind := range []salesv1.AdvisePriceResponse_Way_Kind{salesv1.AdvisePriceResponse_Way_KIND_ADVISED, salesv1.AdvisePriceResponse_Way_KIND_TRIED} {
		for _, w := range ways {
			if w.Kind == kind {
				drawn = append(drawn, w)
			}
		}
	}
	return drawn
}

func both(drawn []*salesv1.AdvisePriceResponse_Way) string {
	text := wayWords[drawn[0].Kind]
	for _, w := range drawn[1:] {
		text += " (on the right: " + wayWords[w.Kind] + ")"
	}
	return text
}

// rowsAmong are at most so many of n rows, the first and the last among them, as even as may be.
func rowsAmong(n, most int) (all []int) {
	rows := min(n, most)
	for i := range rows {
		at := 0
		if rows > 1 {
			at = int(math.Round(float64(i) * float64(n-1) / float64(rows-1)))
		}
		all = append(all, at)
	}
	return all
}

// bar is as long as a share of the chart's width.
func bar(of float64) string {
	return strings.Repeat("█", int(math.Round(min(max(of, 0), 1)*courseWide)))
}
