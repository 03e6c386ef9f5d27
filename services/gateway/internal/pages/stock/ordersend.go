package stock

import (
	"net/http"
	"strings"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/web"
)

func cutKey(key string) (product, label string, found bool) { return strings.Cut(key, "/") }

// endOrder says that the rest of an order will not come; of one of which nothing came, that nothing will.
func endOrder(w http.ResponseWriter, a *web.Asked) (err error) {
	name, reason, etag := a.Typed("order"), a.Typed("reason"), a.Typed("etag")
	if a.Typed("came") != "" {
		_, err = a.Kit.Suite.Orders.CloseOrder(a.Context(), &materialsv1.CloseOrderRequest{RequestId: a.RequestID(), Name: name, Reason: reason, Etag: etag})
	} else {
		_, err = a.Kit.Suite.Orders.CancelOrder(a.Context(), &materialsv1.CancelOrderRequest{RequestId: a.RequestID(), Name: name, Reason: reason, Etag: etag})
	}
	if fault.Of(err) != nil {
		return showOrdersWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/orders", "orders.ended")
}
