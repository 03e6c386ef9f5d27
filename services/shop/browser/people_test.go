package browser_test

import (
	"fmt"
	"testing"

	"tackfree/pkg/caller"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// pageOf is the path of somebody's page, from the list.
func (b *tab) pageOf(name string) string {
	b.t.Helper()
	b.open("/people")
	return ask[string](b, fmt.Sprintf(`[...document.querySelectorAll('.crew h3 a')].find((a) => a.innerText === %q).getAttribute('href')`, name))
}

// told waits until the page says what became of a form.
func (b *tab) told(sentence string) {
	b.t.Helper()
	b.see(sentence, fmt.Sprintf(`document.querySelector('.said') !== null && document.querySelector('.said').innerText.includes(%q)`, sentence))
}

func TestPeople_Looks(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.forgive = append(b.forgive, "/day")
	b.signIn(owner, ownerSecret)
	looks(t, b, "people", "/people")
	looks(t, b, "person-new", "/people/new")
	looks(t, b, "programs", "/people/programs")
	looks(t, b, "person", b.pageOf("Kirsi"))
}

// Somebody new is added and given a PIN, with which they get in; shut out, they are at the door again.
func TestPeople_AddAndLetIn(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.forgive = append(b.forgive, "/day")
	b.signIn(owner, ownerSecret)
	b.open("/people/new")
	b.do(keys("[name=name]", "Lotte <i>L.</i>"), keys("[name=another_skill]", "caning"), click(".broad > button"))
	b.told("Added.")
	b.see("their name as text", `document.querySelector('h1').innerText === 'Lotte <i>L.</i>'`)
	b.do(keys("[name=pin]", "739184"), click(`form[action$="/pin"] button`))
	b.told("The PIN is kept")
	path := ask[string](b, `location.pathname`)
	if ask[string](b, `document.querySelector('[name=pin]').value`) != "" {
		t.Error("the PIN is shown again")
	}
	theirs := window(t, s.PagesURL(), phone)
	theirs.forgive = append(theirs.forgive, "/bench", "403", "401")
	theirs.signIn("Lotte <i>L.</i>", "739184")
	theirs.open("/people")
	theirs.see("the crew, without what is not theirs", `document.querySelector('.crew') && !document.querySelector('[href="/people/programs"]')`)
	theirs.open("/people/programs")
	theirs.see("that it is not for them", `document.querySelector('.wrong') && !document.querySelector('[name=label]')`)
	looks(t, theirs, "person-own", path)
	b.open(path)
	b.see("their device", `document.querySelectorAll('form[action$="/end-session"]').length === 1`)
	b.do(click(`form[action$="/end-session"] button`))
	b.told("Shut out")
	b.see("no device of theirs", `!document.querySelector('form[action$="/end-session"]')`)
}

// Of two owners who change one person the second sees both versions, and neither loses anything.
func TestPeople_TwoOwners(t *testing.T) {
	s := floor(t)
	one, two := window(t, s.PagesURL(), desk), window(t, s.PagesURL(), desk)
	for _, b := range []*tab{one, two} {
		b.forgive = append(b.forgive, "/day", "409")
		b.signIn(owner, ownerSecret)
		b.open(b.pageOf("Jovan"))
	}
	one.retype(`[name="fri.breaks"]`, "12:30-13:00, 15:00-15:15")
	one.do(keys("[name=another_skill]", "gilding"), click(".broad > button"))
	one.told("Kept.")
	two.do(keys("[name=another_skill]", "caning"), click(".broad > button"))
	two.see("both versions", `document.querySelector('[aria-labelledby=h-sides]') && ['gilding 2', 'caning 2', '15:00-15:15'].every((t) => document.querySelector('[aria-labelledby=h-sides]').innerText.includes(t))`)
	two.fair()
	two.picture("two-owners")
	two.do(click(".broad > button"))
	two.told("Kept.")
	p, err := s.Shop.Person(caller.With(t.Context(), caller.Caller{Actor: owner}), "Jovan")
	if err != nil {
		t.Fatal(err)
	}
	has := map[string]bool{}
	for _, word := range p.Skills {
		has[word] = true
	}
	if !has["gilding"] || !has["caning"] || !has["sand"] || breaks(p) != 6 {
		t.Errorf("skills %q and %d breaks; want those of both, and 6", p.Skills, breaks(p))
	}
}

func breaks(p *workflowv1.Person) (n int) {
	for _, d := range p.WorkingDays {
		n += len(d.Breaks)
	}
	return n
}

// The secret of a program is shown once, gets it in, and no more once it is shut out.
func TestPeople_Programs(t *testing.T) {
	s := floor(t)
	b := window(t, s.PagesURL(), desk)
	b.forgive = append(b.forgive, "/day", "401")
	b.signIn(owner, ownerSecret)
	b.open("/people/programs")
	b.do(keys("[name=label]", "shelf scales"), click(`[name=role][value=helper]`), click(`form[action="/people/programs"] button`))
	b.see("its secret", `document.querySelector('.secret code') && document.querySelector('.secret code').innerText.startsWith('tackfree_')`)
	secret := b.text(".secret code")
	b.fair()
	b.picture("secret")
	ask[bool](b, fmt.Sprintf(`(fetch('/v1/products', {credentials: 'omit', headers: {Authorization: 'Bearer ' + %q}}).then((r) => { window.let_in = r.status; }), true)`, secret))
	b.see("that it gets in", `window.let_in === 200`)
	b.open("/people/programs")
	if ask[bool](b, fmt.Sprintf(`document.documentElement.innerHTML.includes(%q)`, secret)) {
		t.Error("the secret is shown again")
	}
	ask[bool](b, `(window.confirm = () => true)()`)
	b.do(click(`form[action$="/revoke"] button`))
	b.told("That program is shut out.")
	b.see("that it is gone", `!document.body.innerText.includes('shelf scales')`)
}
