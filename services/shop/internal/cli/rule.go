package cli

import (
	"fmt"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type ruleCmd struct {
	List    listRulesCmd   `cmd:"" help:"List all rules in the order in which they are looked at."`
	Explain explainRuleCmd `cmd:"" help:"Say why a rule holds and what to do instead."`
}

type listRulesCmd struct{ listOutput }

func (c *listRulesCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Finish.ListRules(e.ctx, &workflowv1.ListRulesRequest{})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			t := &report.Table{Headings: []string{"rule", "", "says", "mended by the planner"}}
			for _, r := range resp.Rules {
				mended := ""
				if r.HasRemedy {
					mended = "yes"
				}
				t.Add(bare(r.Name), strings.ToLower(strings.TrimPrefix(r.Severity.String(), "SEVERITY_")), r.Says, mended)
			}
			return t.Print(e.out)
		})
	})
}

type explainRuleCmd struct {
	listOutput
	Rule string `arg:"" help:"Its id, as the list shows it."`
}

func (c *explainRuleCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		resp, err := shop.Finish.ExplainRule(e.ctx, &workflowv1.ExplainRuleRequest{Name: "rules/" + bare(c.Rule)})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			r := resp.Rule
			_, err := fmt.Fprintf(e.out, "%s (%s)\n%s\nWhy: %s\nInstead: %s\nSource: %s\n", bare(r.Name),
				strings.ToLower(strings.TrimPrefix(r.Severity.String(), "SEVERITY_")), r.Says, r.Why, r.Instead, r.Source)
			return err
		})
	})
}
