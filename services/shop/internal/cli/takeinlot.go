package cli

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type takeInLotCmd struct {
	timed
	Items   []string `arg:"" name:"item" help:"A piece, such as 'Oak chair: chair = 60': what it is, its kind, and what it is expected to sell for or its share of the price. More of it behind semicolons: 'Oak chair: chair = 60; part seat; part leg:4; tag 12; size small; condition worn'; without parts it is treated as one." sep:"none"`
	Price   string   `help:"What all of them cost together." required:"" placeholder:"AMOUNT"`
	Source  string   `help:"Where they were bought." required:""`
	Date    string   `help:"The day they were bought; without it, the day they came in." placeholder:"DAY"`
	By      string   `help:"How the price is split: by what each is expected to sell for (value), equally, or as each piece says (hand)." enum:"value,equally,hand" required:"" placeholder:"value|equally|hand"`
	OnScrap string   `help:"What becomes of the share of a piece that is scrapped: it keeps it, and it is lost with it, or those that are then still there take it over. Without this it keeps it; that cannot be changed later." enum:"keeps,takes-over" default:"keeps" placeholder:"keeps|takes-over"`
}

func (c *takeInLotCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r, err := c.read(e.ctx, shop)
		if err != nil {
			return err
		}
		resp, err := shop.PieceLots.TakeInLot(e.ctx, r)
		if err != nil {
			return err
		}
		defer noteClosed(e, shop, r.TakenInTime)
		return c.print(e, resp, func() error {
			fmt.Fprintf(e.out, "%d pieces are taken in as a lot.\n\n", len(resp.Pieces))
			return printJoint(e, shop, resp.Lot)
		})
	})
}

func (c *takeInLotCmd) read(ctx context.Context, shop *client.Shop) (*intakev1.TakeInLotRequest, error) {
	split := splitsByWord[c.By]
	r := &intakev1.TakeInLotRequest{RequestId: c.request(), Source: c.Source, Split: split, OnScrap: onScrapByWord[c.OnScrap]}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	if len(c.Items) < 2 {
		return nil, errors.New("a lot is of two pieces or more; take a single one in with `shop piece take-in`")
	}
	for _, text := range c.Items {
		item, err := readLotItem(text, split, terms)
		if err != nil {
			return nil, err
		}
		r.Items = append(r.Items, item)
	}
	if r.Price, err = terms.Amount(c.Price); err != nil {
		return nil, err
	}
	if r.Date, err = client.Day(c.Date); err != nil {
		return nil, err
	}
	r.TakenInTime, err = c.at(ctx, shop)
	return r, err
}

var splitsByWord = map[string]intakev1.Lot_Split{
	"value": intakev1.Lot_SPLIT_BY_VALUE, "equally": intakev1.Lot_SPLIT_EQUALLY, "hand": intakev1.Lot_SPLIT_BY_HAND,
}

var onScrapByWord = map[string]intakev1.Lot_OnScrap{
	"keeps": intakev1.Lot_ON_SCRAP_KEEPS, "takes-over": intakev1.Lot_ON_SCRAP_TAKES_OVER,
}

// lotItem is the form of a piece of a lot. The last colon before the amount ends what it is, which
// may have colons.
var lotItem = regexp.MustCompile(`^\s*([^;=]*[^;=\s])\s*:\s*([^:;=]*[^:;=\s])\s*(?:=\s*([^=;]+?)\s*)?(?:;(.*))?$`)

func readLotItem(text string, split intakev1.Lot_Split, terms client.Terms) (*intakev1.TakeInLotRequest_Item, error) {
	m := lotItem.FindStringSubmatch(text)
	if m == nil {
		return nil, fmt.Errorf("%q is not of the form 'Oak chair: chair = 60'", text)
	}
	item := &intakev1.TakeInLotRequest_Item{Title: m[1], Kind: m[2]}
	var err error
	if item.Weight, err = weightOf(m[3], split, terms); err != nil {
		return nil, fmt.Errorf("%s: %w", m[1], err)
	}
	for _, more := range client.Said(strings.Split(m[4], ";")) {
		if err := readMore(item, strings.TrimSpace(more)); err != nil {
			return nil, err
		}
	}
	if len(item.Parts) == 0 {
		item.Parts = []*intakev1.Part{{Label: "whole"}}
	}
	return item, nil
}

// readMore reads what is said of a piece behind a semicolon.
func readMore(item *intakev1.TakeInLotRequest_Item, text string) error {
	word, value, both := strings.Cut(text, " ")
	value = strings.TrimSpace(value)
	switch {
	case both && word == "part":
		part, err := readPart(value)
		item.Parts = append(item.Parts, part)
		return err
	case both && word == "tag":
		tag, err := strconv.ParseInt(value, 10, 32)
		if err != nil || tag < 1 {
			return fmt.Errorf("%q is not a tag number", value)
		}
		item.Tag = int32(tag)
		return nil
	case both && word == "size" && sizesByWord[value] != 0:
		item.Size = sizesByWord[value]
		return nil
	case both && word == "condition" && conditionsByWord[value] != 0:
		item.Condition = conditionsByWord[value]
		return nil
	}
	return fmt.Errorf("%q is none of: part LABEL, part LABEL:COUNT, tag NUMBER, size small|medium|large, condition sound|worn|damaged", text)
}

// weightOf reads what a piece counts for in a split.
func weightOf(text string, split intakev1.Lot_Split, terms client.Terms) (*intakev1.Weight, error) {
	var amount *moneyv1.Money
	switch said := text != ""; {
	case split == intakev1.Lot_SPLIT_EQUALLY && said:
		return nil, fmt.Errorf("an equal split goes by no amount; leave '= %s' out, or split --by value", text)
	case split == intakev1.Lot_SPLIT_EQUALLY:
		return nil, nil
	case !said && split == intakev1.Lot_SPLIT_BY_VALUE:
		return nil, fmt.Errorf("say what it is expected to sell for, behind an equals sign: '… = 60'")
	case !said:
		return nil, fmt.Errorf("say its share of the price, behind an equals sign: '… = 60'")
	}
	amount, err := terms.Amount(text)
	if err != nil {
		return nil, err
	}
	if split == intakev1.Lot_SPLIT_BY_HAND {
		return &intakev1.Weight{By: &intakev1.Weight_Share{Share: amount}}, nil
	}
	return &intakev1.Weight{By: &intakev1.Weight_ExpectedValue{ExpectedValue: amount}}, nil
}
