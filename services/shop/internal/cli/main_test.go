package cli

import (
	"os"
	"testing"
)

// asShop is the variable by which a test runs this program as `shop`, in a process of its own.
const asShop = "TACKFREE_TEST_AS_SHOP"

func TestMain(m *testing.M) {
	if os.Getenv(asShop) != "" {
		os.Exit(Main(os.Args[1:]))
	}
	os.Exit(m.Run())
}
