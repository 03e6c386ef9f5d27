package gatewaysvc

import (
	"tackfree/services/gateway/internal/pages/bench"
	"tackfree/services/gateway/internal/pages/buying"
	"tackfree/services/gateway/internal/pages/calendar"
	"tackfree/services/gateway/internal/pages/commissions"
	"tackfree/services/gateway/internal/pages/day"
	"tackfree/services/gateway/internal/pages/door"
	"tackfree/services/gateway/internal/pages/money"
	"tackfree/services/gateway/internal/pages/people"
	"tackfree/services/gateway/internal/pages/photos"
	"tackfree/services/gateway/internal/pages/piece"
	"tackfree/services/gateway/internal/pages/pieces"
	"tackfree/services/gateway/internal/pages/plan"
	"tackfree/services/gateway/internal/pages/price"
	"tackfree/services/gateway/internal/pages/stock"
	"tackfree/services/gateway/internal/pages/tags"
	"tackfree/services/gateway/internal/web"
)

// pages are the subjects, in the order of the menu.
var pages = []func() web.Page{
	door.Page,
	day.Page,
	pieces.Page,
	piece.Page,
	commissions.Page,
	photos.Page,
	tags.Page,
	bench.Page,
	plan.Page,
	calendar.Page,
	stock.Page,
	money.Page,
	buying.Page,
	price.Page,
	people.Page,
}
