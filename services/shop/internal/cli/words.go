package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	exact "tackfree/pkg/quantity"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

// command is what every changing command takes.
type command struct {
	output
	RequestID string `help:"Give the same one again to ask again safely." placeholder:"UUID"`

	made  bool  // the request id was not typed
	fixed again // what else was not typed and would not be the same again
}

// request is the id under which the command goes out, always the same one.
func (c *command) request() string {
	if c.RequestID == "" {
		c.RequestID, c.made = id.New().String(), true
	}
	return c.RequestID
}

// again implements changing.
func (c *command) again() again {
	a := c.fixed
	if c.made {
		a.flags = append(slices.Clone(a.flags), "--request-id", c.RequestID)
	}
	return a
}

// print prints the answer. That it cannot be shown takes nothing back.
func (c *command) print(e *env, m proto.Message, text func() error) error {
	if err := c.output.print(e, m, text); err != nil {
		return unshown{err}
	}
	return nil
}

// unshown is the error of a command that was done, and whose answer cannot be shown.
type unshown struct{ error }

// Unwrap gives the failure.
func (u unshown) Unwrap() error { return u.error }

// timed is a command about something that happens at an instant.
type timed struct {
	command
	At string `help:"When it happened: '2026-03-02 08:00' by the shop's clock, or with an offset 2026-03-02T08:00:00-06:00. Without it: now." placeholder:"TIME"`
}

// at reads the time in the shop's zone; none stays absent.
func (c timed) at(ctx context.Context, shop *client.Shop) (*timestamppb.Timestamp, error) {
	return instant(ctx, shop, c.At)
}

// instant reads a time that a person typed; none stays absent, and asks nobody.
func instant(ctx context.Context, shop *client.Shop, text string) (*timestamppb.Timestamp, error) {
	if text == "" {
		return nil, nil
	}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	return terms.Instant(text)
}

// quantity reads an amount with its unit: 0.75L, 120mL, 2gal, 18 1/2in.
func quantity(text string) (*typev1.Quantity, error) {
	end := strings.LastIndexAny(text, "0123456789.½¼¾⅕⅖⅗⅘⅛⅜⅝⅞")
	_, wide := utf8.DecodeRuneInString(text[max(end, 0):])
	value, unit := "", ""
	if end >= 0 {
		value, unit = exact.Decimal(text[:end+wide]), strings.ReplaceAll(text[end+wide:], " ", "")
	}
	if !strings.Contains(value, "/") {
		value = strings.ReplaceAll(value, " ", "")
	}
	if value == "" || unit == "" {
		return nil, fmt.Errorf("%q is not an amount with a unit, such as 120mL, 2gal or 18 1/2in", text)
	}
	return &typev1.Quantity{Value: value, Unit: unit}, nil
}

// optionalQuantity reads an amount; none stays absent.
func optionalQuantity(text string) (*typev1.Quantity, error) {
	if text == "" {
		return nil, nil
	}
	return quantity(text)
}

// pair reads LABEL=VALUE; the label may hold an equals sign, the value does not.
func pair(text, example string) (label, value string, err error) {
	at := strings.LastIndex(text, "=")
	if at < 1 || at == len(text)-1 {
		return "", "", fmt.Errorf("%q is not of the form '%s'", text, example)
	}
	return text[:at], text[at+1:], nil
}

// bare is the last word of a resource name: of clockEntries/… what comes after the slash.
func bare(name string) string { return name[strings.LastIndex(name, "/")+1:] }
