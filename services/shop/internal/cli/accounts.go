package cli

import (
	"fmt"

	"google.golang.org/protobuf/types/known/timestamppb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

// stands is a statement at an instant.
type stands interface{ GetTime() *timestamppb.Timestamp }

type accountsCmd struct {
	listOutput
	Yaml bool `help:"As they are written, to begin the shop's own with: shop up --account-rules FILE takes them, a costing service by itself the file that TACKFREE_ACCOUNT_RULES names."`
}

func (c *accountsCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Months.GetAccountRules(e.ctx, &costingv1.GetAccountRulesRequest{})
		if err != nil {
			return err
		}
		if c.Yaml {
			_, err := fmt.Fprint(e.out, resp.Yaml)
			return err
		}
		return c.print(e, resp, func() error { return report.Rules(e.out, resp) })
	})
}
