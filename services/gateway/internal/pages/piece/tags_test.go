package piece_test

import (
	"net/http"
	"strings"
	"testing"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// A tag says what people at the rack need, and its code is the piece's address as the browser has it.
func TestTags(t *testing.T) {
	b := setup(t)
	w := b.get("helper", "http://shop.local:7410/pieces/401/tag")
	b.says(w, http.StatusOK, `<p class="number">401</p>`, "Code for http://shop.local:7410/pieces/401", "<li>top</li><li>case</li>", "Promised 20 Mar 2026, 13:00",
		"Not tested: presume LEAD: case. No dry sanding")
	b.keeps(w, "<script>alert", "LEAD in the old coating", "presume LEAD: top")
	sheet := b.get("helper", "/tags?piece=401,+402&piece=403")
	if n := strings.Count(sheet.Body.String(), `<article class="hang"`); n != 3 {
		t.Errorf("%d tags on the sheet, want 3", n)
	}
	b.says(b.get("helper", "/tags"), http.StatusOK, "Lay out the tags")
}

func TestTags_Refused(t *testing.T) {
	b := setup(t)
	b.says(b.get("helper", "/tags?piece=4x1"), http.StatusBadRequest, "Tag numbers are whole numbers", `value="4x1"`)
	b.says(b.get("helper", "/tags?piece="+strings.Repeat("1+", 61)), http.StatusBadRequest, "at most 60 tags")
}

func TestTags_Can(t *testing.T) {
	b := setup(t)
	b.answers["GetProduct"] = &materialsv1.GetProductResponse{Product: &materialsv1.Product{DisplayName: "Gel <stripper>", Details: &typev1.ProductDetails{Maker: "Millrace", Colour: "amber", Hazards: "H225 highly flammable"}}}
	b.says(b.get("helper", "http://shop.local/tags/can/42"), http.StatusOK, "Gel &lt;stripper&gt;", "Millrace", "H225 highly flammable", "Code for http://shop.local/cans/42", "Read the safety data sheet")
}
