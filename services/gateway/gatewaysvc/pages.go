package gatewaysvc

import (
	"tackfree/services/gateway/internal/pages/door"
	"tackfree/services/gateway/internal/web"
)

// pages are the subjects, in the order of the menu.
var pages = []func() web.Page{
	door.Page,
}
