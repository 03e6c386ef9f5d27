package cli

import (
	"fmt"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// slip is of commands whose entry can be undone.
type slip struct{}

// Help implements kong.HelpProvider.
func (slip) Help() string { return undoHelp }

const undoHelp = "A slip is undone with `shop stock undo`, by the entry's id, which `shop stock history` shows."

type undoCmd struct {
	command
	Entry  string `arg:"" help:"The entry's id, as the history shows it, or as much of its beginning as no other has."`
	Reason string `help:"Why." required:""`
}

// Help implements kong.HelpProvider.
func (undoCmd) Help() string {
	return "What hung on it is counted anew; of a closing, the lot is used again. An issue is taken back instead (`shop stock take-back`), and a mix undone whole (`shop mix undo`)."
}

func (c *undoCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		entry, err := shop.Entry(e.ctx, c.Entry)
		if err != nil {
			return err
		}
		resp, err := shop.Stock.UndoEntry(e.ctx, &materialsv1.UndoEntryRequest{RequestId: c.request(), Entry: entry.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, entry.GetTime())
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "It counts as if it had never been; %s of %s on hand, worth %s.\n", report.Quantity(resp.Product.GetOnHand()),
				resp.Product.GetDisplayName(), report.Money(resp.Product.GetValue()))
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}

type undoMixCmd struct {
	command
	Mix    string `arg:"" help:"The number on its lid."`
	Reason string `help:"Why." required:""`
}

func (c *undoMixCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		m, err := shop.Mix(e.ctx, c.Mix)
		if err != nil {
			return err
		}
		resp, err := shop.Mixes.UndoMix(e.ctx, &materialsv1.UndoMixRequest{RequestId: c.request(), Name: m.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, m.GetMixTime())
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "Mix %d counts as if it had never been made; what went into it is on the shelf again.\n", resp.Mix.GetNumber())
			return sayRecosted(e, shop, resp.Recostings)
		})
	})
}
