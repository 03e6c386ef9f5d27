package bands_test

import (
	"errors"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/bands"
)

func TestMissing_Of(t *testing.T) {
	broken := errors.New("broken")
	cases := []struct {
		err  error
		want bands.Missing
		left bool
	}{
		{nil, "", false},
		{fault.New(fault.Denied, "NOT_YOURS", "No."), "band.denied", false},
		{fault.New(fault.Unavailable, "AWAY", "Away."), "band.away", false},
		{fault.New(fault.NotFound, "PRODUCT_NOT_FOUND", "None."), "", true},
		{broken, "", true},
	}
	for _, c := range cases {
		var m bands.Missing
		if left := m.Of(c.err); (left != nil) != c.left || m != c.want {
			t.Errorf("Of(%v) = %v, %q; want an error: %t, %q", c.err, left, m, c.left, c.want)
		}
	}
}
