package cli

import (
	"fmt"
	"strconv"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

// typedAmount is an amount that a person typed, and where it goes; none stays as it is.
type typedAmount struct {
	text string
	to   **moneyv1.Money
}

// amounts reads what was typed of amounts.
func amounts(terms client.Terms, all ...typedAmount) error {
	for _, a := range all {
		m, err := terms.Amount(a.text)
		if err != nil {
			return err
		}
		if m != nil {
			*a.to = m
		}
	}
	return nil
}

// readPercent reads 80 or 80%, from 1 to below 100; none is 0.
func readPercent(flag, text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%")), 64)
	if err != nil || !(v >= 1 && v < 100) {
		return 0, fmt.Errorf("%s is %q; say it in percent, from 1 to below 100, such as 80", flag, text)
	}
	return v, nil
}

// kmOfMile is exact, by the international yard and pound agreement of 1959.
const kmOfMile = 1.609344

// readDistance reads 12km, 8mi or 12 into kilometres; none is 0.
func readDistance(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	number, times := strings.TrimSpace(text), 1.0
	if miles, given := strings.CutSuffix(number, "mi"); given {
		number, times = miles, kmOfMile
	} else {
		number = strings.TrimSuffix(number, "km")
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil || !(v >= 0 && v <= 5000) {
		return 0, fmt.Errorf("%q is not a distance such as 12km or 8mi", text)
	}
	return v * times, nil
}

func readSize(word string) (typev1.PieceSize, error) {
	if word == "" {
		return typev1.PieceSize_PIECE_SIZE_UNSPECIFIED, nil
	}
	return readEnum[typev1.PieceSize]("PIECE_SIZE_", word, typev1.PieceSize_value)
}
