package cli

import (
	"fmt"
	"slices"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

// readLines reads lines as people type them; those that untaxed names are not taxed.
func readLines(terms client.Terms, labour, material, other, untaxed []string) (all []*intakev1.EstimateLine, err error) {
	for _, kind := range []struct {
		texts []string
		read  func(client.Terms, *intakev1.EstimateLine, string) error
	}{{labour, readLabour}, {material, readMaterial}, {other, readOther}} {
		for _, text := range kind.texts {
			at := strings.LastIndex(text, ":")
			if at < 1 {
				return nil, fmt.Errorf("line %q says no figure; write what it is, a colon and the figure, such as 'varnish:40'", text)
			}
			l := &intakev1.EstimateLine{What: strings.TrimSpace(text[:at])}
			if err := kind.read(terms, l, text[at+1:]); err != nil {
				return nil, fmt.Errorf("line %q: %w", text, err)
			}
			l.Untaxed = slices.Contains(untaxed, l.What)
			all = append(all, l)
		}
	}
	for _, what := range untaxed {
		if !slices.ContainsFunc(all, func(l *intakev1.EstimateLine) bool { return l.What == what }) {
			return nil, fmt.Errorf("--untaxed names %q, but no line is called so", what)
		}
	}
	return all, nil
}

// readLabour reads HOURS or LEAST-LIKELY-MOST, and @RATE.
func readLabour(terms client.Terms, l *intakev1.EstimateLine, figure string) (err error) {
	hours, rate, _ := strings.Cut(figure, "@")
	m := &intakev1.EstimateLine_Labour{}
	switch said := strings.Split(hours, "-"); len(said) {
	case 1:
		m.HoursLikely = strings.TrimSpace(hours)
	case 3:
		m.HoursLow, m.HoursLikely, m.HoursHigh = strings.TrimSpace(said[0]), strings.TrimSpace(said[1]), strings.TrimSpace(said[2])
	default:
		return fmt.Errorf("hours %q are neither one number nor three with - between them", hours)
	}
	m.Rate, err = terms.Amount(strings.TrimSpace(rate))
	l.Of = &intakev1.EstimateLine_Labour_{Labour: m}
	return err
}

// readMaterial reads COST, and +PERCENT.
func readMaterial(terms client.Terms, l *intakev1.EstimateLine, figure string) (err error) {
	cost, markup, _ := strings.Cut(figure, "+")
	m := &intakev1.EstimateLine_Material{MarkupPercent: withoutSign(markup)}
	m.Cost, err = terms.Amount(strings.TrimSpace(cost))
	l.Of = &intakev1.EstimateLine_Material_{Material: m}
	return err
}

func readOther(terms client.Terms, l *intakev1.EstimateLine, figure string) error {
	price, err := terms.Amount(strings.TrimSpace(figure))
	l.Of = &intakev1.EstimateLine_Fixed{Fixed: price}
	return err
}

// withoutSign is a percent without its sign.
func withoutSign(text string) string {
	return strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%"))
}

// amountOrPercent reads 40 or 10%; none is neither.
func amountOrPercent(terms client.Terms, text string) (amount *moneyv1.Money, percent string, err error) {
	if strings.HasSuffix(strings.TrimSpace(text), "%") {
		return nil, withoutSign(text), nil
	}
	amount, err = terms.Amount(text)
	return amount, "", err
}
