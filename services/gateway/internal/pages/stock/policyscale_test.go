package stock_test

import (
	"net/http"
	"net/url"
	"testing"

	"tackfree/pkg/fault"
)

// The policy's shares are refused in the scale in which the form asks for them; what else is refused is said as
// the service says it.
func TestPolicy_RefusedByTheHundred(t *testing.T) {
	for _, c := range []struct {
		lang, field string
		form        url.Values
		says        string
	}{
		{"en", "service_level", url.Values{"level": {"40"}, "holding": {"25"}}, "“40” is no share of a hundred to buy by: say in how many times of a hundred nothing runs out, from 50 to 99.99."},
		{"es", "service_level", url.Values{"level": {"40"}, "holding": {"25"}}, "Con «40» no se puede comprar: di en cuántas veces de cada cien no falta nada, de 50 a 99,99."},
		{"en", "service_level", url.Values{"level": {""}}, "“0” is no share"},
		{"en", "holding_share", url.Values{"level": {"95"}, "holding": {"2000"}}, "cannot cost 2000 % of its worth: say from 0.1 to 1000 percent."},
		{"es", "holding_share", url.Values{"level": {"95"}, "holding": {"2000"}}, "no puede costar el 2000 % de lo que vale: di de 0,1 a 1000 por ciento."},
		{"en", "days_between_looks", url.Values{"level": {"95"}, "looks": {"900"}}, "The service says so."},
	} {
		s := stocked()
		r := pages(t, s)
		r.lang = c.lang
		s.refusing["SetRestockPolicy"] = fault.New(fault.Invalid, "OUT_OF_RANGE", "The service says so.").At(c.field)
		status, body := r.post("/stock/policy", c.form)
		if status != http.StatusBadRequest {
			t.Errorf("%s %s: %d, want 400", c.lang, c.field, status)
		}
		r.sees(body, c.says)
	}
}
