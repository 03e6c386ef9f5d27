// Package stock is what the shop has to work with: the shelf, each product, what to order, and what has
// to be kept with care.
//
//	/stock ──────────── the shelf: each can with what is promised of it, what stands still first, what is open
//	  ├─ /stock/{id} ── one product: its course over the days to come, its lots, entries, offers; its forms
//	  ├─ /stock/orders  what to order from whom, and what is on order
//	  ├─ /stock/sources suppliers, places, how the shop buys and counts; new products
//	  └─ /stock/keeping flammable liquid against the limits, oily rags, solvent in the air, waste, machines to service
//
// What is shown of dangers are cautions: the safety data sheet, local codes and licensed practice decide.
package stock

import (
	"context"
	"embed"
	"path"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.html *.css
var files embed.FS

// Page is the pages of stock.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /stock":                 showShelf,
		"GET /stock/part/alerts":     partAlerts,
		"GET /stock/part/shelf":      partShelf,
		"GET /stock/orders":          showOrders,
		"POST /stock/orders":         placeOrder,
		"POST /stock/orders/end":     endOrder,
		"GET /stock/keeping":         showKeeping,
		"POST /stock/keeping/oily":   confirmOily,
		"GET /stock/{id}":            showProduct,
		"GET /stock/{id}/now":        partProduct,
		"POST /stock/{id}/receive":   receive,
		"POST /stock/{id}/count":     count,
		"POST /stock/{id}/threshold": setThreshold,
		"POST /stock/{id}/describe":  describe,
		"POST /stock/{id}/open":      deed("open", "product.opened", openCan),
		"POST /stock/{id}/put":       deed("put", "product.put.done", moveLot),
		"POST /stock/{id}/waste":     deed("waste", "product.wasted", throwAway),
		"POST /stock/{id}/aside":     deed("aside", "product.aside.done", setAside),
		"POST /stock/{id}/cost":      deed("cost", "product.cost.done", correctCost),
		"POST /stock/{id}/undo":      deed("undo", "product.undo.done", undo),
		"POST /stock/{id}/mix":       deed("mix", "product.mixed", mix),
		"POST /stock/{id}/unmix":     deed("unmix", "product.unmixed", undoMix),
		"POST /stock/{id}/offer":     deed("offer", "product.offer.kept", setOffer),
		"POST /stock/{id}/unoffer":   deed("unoffer", "product.offer.gone", dropOffer),
		"POST /stock/{id}/rename":    rename,
		"POST /stock/{id}/packages":  packages,
		"GET /stock/sources":         showSources,
		"POST /stock/sources":        newProduct,
		"POST /stock/suppliers":      saveSupplier,
		"POST /stock/places":         savePlace,
		"POST /stock/policy":         savePolicy,
		"POST /stock/counting":       saveCounting,
		"POST /stock/keeping/undo":   withdrawOily,
		"POST /stock/keeping/served": recordService,
	}}
}

// many is how much of a list is asked for at once: what services give at most.
const many = 1000

// short is how much of a history a page shows.
const short = 30

func products(ctx context.Context, s *clients.Suite) ([]*materialsv1.Product, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Product, string, error) {
		r, err := s.Materials.ListProducts(ctx, &materialsv1.ListProductsRequest{PageSize: many, PageToken: token})
		return r.GetProducts(), r.GetNextPageToken(), err
	})
}

// idOf gives the id of a name such as products/{id}.
func idOf(name string) string { return path.Base(name) }
