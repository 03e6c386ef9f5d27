package tags

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"path"

	"tackfree/pkg/printed"
	"tackfree/pkg/printed/commissioned"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/web"
)

// receiptPDF answers with the receipt of the last sale of a piece, or of the one that is asked for, in the reader's language or the one
// that is asked for.
func receiptPDF(w http.ResponseWriter, a *web.Asked) error {
	sale, err := saleOf(a)
	if err != nil {
		return err
	}
	r, err := a.Kit.Suite.Receipts.GetReceipt(a.Context(), &salesv1.GetReceiptRequest{Sale: sale})
	if err != nil {
		return err
	}
	head, err := a.Kit.Suite.Intake.GetLetterhead(a.Context(), &intakev1.GetLetterheadRequest{})
	if err != nil {
		return err
	}
	q := a.URL.Query()
	d, err := commissioned.Receipt(commissioned.Order{Letterhead: head.Letterhead, Currency: a.Voice.Currency, Zone: a.Voice.Zone,
		Language: cmp.Or(q.Get("lang"), a.Voice.Language), Paper: q.Get("paper")}, r.Receipt)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := printed.Write(&b, d); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", fmt.Sprintf("receipt-%d.pdf", r.Receipt.Number)))
	_, _ = w.Write(b.Bytes()) // whoever left does not read it
	return nil
}

// saleOf names the sale of which the receipt is asked for. Fault: SALE_NOT_FOUND.
func saleOf(a *web.Asked) (string, error) {
	if id := a.URL.Query().Get("sale"); id != "" {
		return "sales/" + path.Base(id), nil
	}
	p, err := pieceOf(a.Context(), a, a.PathValue("tag"))
	if err != nil {
		return "", err
	}
	r, err := a.Kit.Suite.Sales.GetListing(a.Context(), &salesv1.GetListingRequest{Name: "listings/" + path.Base(p.Name)})
	if err != nil {
		return "", err
	}
	if n := len(r.Listing.Sales); n > 0 {
		return r.Listing.Sales[n-1].Name, nil
	}
	return "", errNeverSold
}
