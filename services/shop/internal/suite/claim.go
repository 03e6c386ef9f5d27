package suite

import (
	"context"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// ClaimKey makes a one-time key with which somebody can become the first owner, in place of the one before;
// empty: the shop has an owner.
func (s *Suite) ClaimKey(ctx context.Context) (string, error) {
	r, err := s.Shop.SignIn.RenewClaimKey(ctx, &workflowv1.RenewClaimKeyRequest{})
	if fault.Is(err, "SHOP_HAS_OWNER") {
		return "", nil
	}
	return r.GetKey(), err
}
