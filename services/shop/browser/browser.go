// Package browser looks at the shop's pages with a real browser, as people do: a floor in the middle
// of its week, an owner at a desk, a lead, helpers with phones.
//
// Where there is no browser the tests are left out, except where CI is set: there they fail. Pictures
// of each page are kept with go test -artifacts.
package browser
