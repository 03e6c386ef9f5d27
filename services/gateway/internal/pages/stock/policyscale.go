package stock

import (
	"cmp"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/web"
)

// shares are the sentences by which a share of the policy is refused, by its field in the contract: a form asks for
// it by the hundred, and its bounds are said so too.
var shares = map[string]string{"service_level": "sources.policy.level.bounds", "holding_share": "sources.policy.holding.bounds"}

// byTheHundred says that a share of the policy is out of its bounds in the scale of the form, with what was typed
// there; any other refusal is as it was.
func byTheHundred(a *web.Asked, err error) error {
	f := fault.Of(err)
	if !fault.Is(err, "OUT_OF_RANGE") || len(f.Fields) == 0 {
		return err
	}
	field := f.Fields[0].Path
	key, is := shares[field]
	if !is {
		return err
	}
	typed := map[string]string{"service_level": "level", "holding_share": "holding"}[field]
	return fault.New(f.Kind, "SHARE_OUT_OF_RANGE", "%s", a.Voice.T(key, cmp.Or(a.Typed(typed), "0"))).At(typed)
}
