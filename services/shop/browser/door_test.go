package browser_test

import "testing"

func TestDoor(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	looks(t, b, "door", "/sign-in")
	b.forgive = append(b.forgive, "401")
	b.signIn(helper, helperSecret)
	b.see("the helper's own page", `location.pathname === "/bench"`)
}
