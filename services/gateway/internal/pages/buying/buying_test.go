package buying

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
	"tackfree/services/gateway/internal/words"
)

var errNotThere = fault.New(fault.NotFound, "PROSPECT_NOT_FOUND", "There is no such prospect.")

func TestAdvice(t *testing.T) {
	s := &shop{advice: onlyIf()}
	v := serve(t, s)
	status, body := v.Get("/buying/advice?" + typedIn().Encode())
	pagetest.Want(t, "the answer", status, http.StatusOK, body, []string{
		`Only if you get it for 85 or less</h1>`, "<strong>85</strong>", "62 % sure to leave 35.00 an hour; 80 % is wanted.", "Loss: 7 %.", ">380<", ">6:15<", ">23<", "sale price", "Material, not all",
		"it is sure to sell for 402 or more", "it is sure to take 5:30 hours or less", "tested for lead", "31 sales of the shop, 4 of them of this kind", "45 % of the price is believed", "what a day of its floor costs follows from what was said of another size (carried by more)", "milk paint",
		"Pine &lt;dresser&gt;", "in 19 days", "never listed", "presumed to hold lead", `name="asking" inputmode="decimal" maxlength="20" required autocomplete="off" value="120"`,
		`<input type="hidden" name="wrong" value="odour">`, "pretty&lt;/b&gt;", "9 reach the target, 2 lose", "after 6 days at the earliest",
	}, []string{"<b>pretty", "style=", "[buying"})
	if got := s.asked.Sighting; got.DistanceKm != 12.5 || len(got.Defects) != 2 || got.OldFinish != "unknown" || got.Size != typev1.PieceSize_PIECE_SIZE_MEDIUM || got.AskingPrice.Units != 120 {
		t.Errorf("it was asked %v", got)
	}
	if s.added != nil {
		t.Error("an answer keeps something")
	}
}

// A no says what chance there is, and what would make it a yes; material that nobody has a price of is not shown as free.
func TestAdvice_NotEvenAsAGift(t *testing.T) {
	s := &shop{advice: notEvenAGift()}
	status, body := serve(t, s).Get("/buying/advice?" + typedIn().Encode())
	pagetest.Want(t, "the answer", status, http.StatusOK, body, []string{
		"No: even as a gift, 66 of 100 chances to reach 12.00 an hour; you want 80</h1>", "As a gift, it would do with one of these:", "it is sure to sell for 422 or more",
		"it is sure to take 5:30 hours or less", "an hour need leave you no more than 9.70", "The chance as a gift, if you knew:", "41 %", "88 %", "<b>not known</b>", "the answer leaves it out",
	}, []string{"Material, not all", "Only if", "[buying"})
}

func TestAdvice_Refused(t *testing.T) {
	for name, c := range map[string]struct {
		refused error
		form    url.Values
		status  int
		says    []string
	}{
		"nobody said what an hour earns": {fault.New(fault.Precondition, "TERMS_MISSING", "Say first."), typedIn(), http.StatusSeeOther, []string{"/buying/terms?then=%2Fbuying%2Fadvice%3Fasking%3D120"}},
		"no belief":                      {fault.New(fault.Precondition, "BELIEF_MISSING", "Nobody says."), typedIn(), http.StatusUnprocessableEntity, []string{"Nobody says.", `href="/money/terms?kind=dresser"`, `value="120"`}},
		"parts unknown":                  {fault.New(fault.Precondition, "PARTS_UNKNOWN", "Measure it."), typedIn("kind", "other", "other", "Organ"), http.StatusUnprocessableEntity, []string{"Measure it.", "<details open>", `value="Organ"`}},
		"no size":                        {nil, typedIn("size", ""), http.StatusBadRequest, []string{"Say who carries it"}},
		"half a guess":                   {nil, typedIn("low", "200"), http.StatusBadRequest, []string{"or neither", `value="200"`}},
		"unreadable":                     {nil, typedIn("asking", "about 50"), http.StatusBadRequest, []string{"about 50"}},
		"no measure":                     {nil, typedIn("part", "top", "length", "two feet", "unit", "in"), http.StatusBadRequest, []string{"“top” cannot be read. Write them such as 24, 24.5 or 24 1/2."}},
	} {
		t.Run(name, func(t *testing.T) {
			status, body := serve(t, &shop{advice: onlyIf(), refused: c.refused}).Get("/buying/advice?" + c.form.Encode())
			pagetest.Want(t, name, status, c.status, body, c.says, []string{"Only if"})
		})
	}
}

func TestKeep(t *testing.T) {
	s := &shop{advice: onlyIf()}
	v := serve(t, s)
	status, body := v.Send("/buying/keep", typedIn("then", "keep", "request_id", "r1"))
	pagetest.Want(t, "kept", status, http.StatusSeeOther, body, []string{"/buying/seen/new"}, nil)
	if s.added.RequestId != "r1" || s.added.Sighting.Source != "barn sale" || s.bought != nil || s.declined != nil {
		t.Errorf("added %v, bought %v, declined %v", s.added, s.bought, s.declined)
	}
	status, body = v.Send("/buying/keep", typedIn("then", "bought", "request_id", "r2", "decision_id", "d2", "paid", "80", "from", "barn sale"))
	pagetest.Want(t, "bought", status, http.StatusSeeOther, body, []string{"/pieces/461"}, nil)
	if b := s.bought; b.RequestId != "d2" || b.Prospect != "prospects/new" || b.Price.Units != 80 || b.Etag != `"1"` {
		t.Errorf("bought by %v", b)
	}
	status, body = v.Send("/buying/keep", typedIn("then", "left", "request_id", "r3", "decision_id", "d3", "reason", "too dear"))
	pagetest.Want(t, "left", status, http.StatusSeeOther, body, []string{"/buying"}, nil)
	if d := s.declined; d.RequestId != "d3" || d.Reason != "too dear" {
		t.Errorf("left by %v", d)
	}
}

// What decides too little is said before anything is kept.
func TestKeep_DecidesTooLittle(t *testing.T) {
	for _, c := range [][]string{{"bought", "paid", ""}, {"bought", "paid", "x"}, {"left", "reason", " "}} {
		s := &shop{advice: onlyIf()}
		status, body := serve(t, s).Send("/buying/keep", typedIn("then", c[0], c[1], c[2]))
		pagetest.Want(t, c[0], status, http.StatusBadRequest, body, []string{"Only if", `role="alert"`}, nil)
		if s.added != nil {
			t.Errorf("%v: it was kept", c)
		}
	}
}

// A decision on what was kept is read by its address, whatever else its form says: what cannot be read is named,
// and nothing is asked of intake.
func TestSeen_DecidesTooLittle(t *testing.T) {
	for _, c := range []struct {
		path string
		form url.Values
		says string
	}{
		{"bought", url.Values{"paid": {"abc"}}, "“abc” is not an amount of money."},
		{"bought", url.Values{"paid": {"abc"}, "then": {"bought"}}, "“abc” is not an amount of money."},
		{"bought", url.Values{"paid": {""}}, "Write what you paid"},
		{"left", url.Values{}, "Write why you leave it"},
	} {
		s := &shop{advice: onlyIf(), kept: []*intakev1.Prospect{prospect(3, intakev1.Prospect_STATE_OPEN, &intakev1.Sighting{Kind: "dresser"})}, terms: &intakev1.BuyingTerms{}}
		status, body := serve(t, s).Send("/buying/seen/3/"+c.path, c.form)
		pagetest.Want(t, c.path, status, http.StatusBadRequest, body, []string{c.says}, nil)
		if s.bought != nil || s.declined != nil {
			t.Errorf("%s, %v: intake was asked", c.path, c.form)
		}
	}
}

// What was typed for a decision that is refused is not lost, and its form is open.
func TestKeep_RefusedKeepsWhatWasTyped(t *testing.T) {
	s := &shop{advice: onlyIf(), addFails: fault.New(fault.Precondition, "SEEN_LATER", "Not yet.")}
	v := serve(t, s)
	open := func(form string) string { return `id="do-` + form + `" open>` }
	status, body := v.Send("/buying/keep", typedIn("then", "bought", "paid", "81.50", "from", "the widow"))
	pagetest.Want(t, "bought", status, http.StatusUnprocessableEntity, body, []string{"Not yet.", open("buy"), `value="81.50"`, `value="the widow"`, `value="120"`}, []string{open("leave")})
	status, body = v.Send("/buying/keep", typedIn("then", "left", "reason", "rot & worm"))
	pagetest.Want(t, "left", status, http.StatusUnprocessableEntity, body, []string{"Not yet.", open("leave"), `value="rot &amp; worm"`}, []string{open("buy")})
	status, body = v.Send("/buying/keep", typedIn("then", "bought", "paid", "", "from", "the widow"))
	pagetest.Want(t, "without a price", status, http.StatusBadRequest, body, []string{open("buy"), `name="paid" inputmode="decimal" maxlength="20" required autocomplete="off" value=""`, `value="the widow"`}, nil)
	_, body = v.Get("/buying/advice?" + typedIn().Encode())
	pagetest.Want(t, "nothing refused", 200, 200, body, []string{`value="barn sale"`}, []string{open("buy"), open("leave")})
}

// What was kept is asked anew with all that was measured, and, where the terms say otherwise today, also with
// what was wanted of an hour then.
func TestSeen_AskedAnew(t *testing.T) {
	cm := func(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "cm"} }
	seen := &intakev1.Sighting{Kind: "dresser", Look: "stain", AskingPrice: usd(120, 0), Parts: []*intakev1.Part{{Label: "top", Length: cm("110"), Width: cm("50"), Thickness: cm("2.2")}, {Label: "leg", Count: 4}}}
	s := &shop{advice: onlyIf(), kept: []*intakev1.Prospect{prospect(3, intakev1.Prospect_STATE_OPEN, seen)}, terms: &intakev1.BuyingTerms{TargetPerHour: usd(35, 0), Chance: 0.8}}
	v := serve(t, s)
	_, body := v.Get("/buying/seen/3")
	pagetest.Want(t, "by the same terms", 200, 200, body, []string{"thickness=2.2&amp;thickness=&amp;"}, []string{"target=", "chance=", "as then"})
	for _, now := range []*intakev1.BuyingTerms{{TargetPerHour: usd(40, 0), Chance: 0.8}, {TargetPerHour: usd(35, 0), Chance: 0.9}} {
		s.terms = now
		_, body = v.Get("/buying/seen/3")
		pagetest.Want(t, "by others", 200, 200, body, []string{`<a class="do" href="/buying/advice?asking=120&amp;count=`, "chance=80", "target=35", "wanting 35.00 an hour with 80 % as then"}, []string{"[buying"})
	}
	again := url.Values{}
	for field, values := range typedIn("chance", "80", "target", "35", "unit", "cm") {
		again[field] = values
	}
	again["part"], again["length"], again["thickness"] = []string{"leg", "top"}, []string{"", "110"}, []string{"", "2.2"}
	v.Get("/buying/advice?" + again.Encode())
	if p := s.asked.Sighting.Parts; len(p) != 2 || p[0].Thickness != nil || p[1].Thickness.GetValue() != "2.2" || s.asked.Chance != 0.8 || s.asked.TargetPerHour.GetUnits() != 35 {
		t.Errorf("it was asked %v", s.asked)
	}
	_, body = v.Get("/buying?" + again.Encode())
	pagetest.Want(t, "the form", 200, 200, body, []string{`name="thickness" inputmode="decimal" maxlength="12" autocomplete="off" value="2.2"`}, nil)
}

// Who measures in inches gets the letters of the keyboard for measures, for fractions are not on a pad of figures.
func TestSighting_Keyboard(t *testing.T) {
	for language, mode := range map[string]string{"en-US": "text", "es": "decimal"} {
		v := serve(t, &shop{})
		v.Language = language
		_, body := v.Get("/buying?part=top&thickness=1&unit=in")
		for _, field := range []string{"length", "width", "thickness"} {
			if want := `name="` + field + `" inputmode="` + mode + `"`; !strings.Contains(body, want) {
				t.Errorf("in %s the form does not have %s", language, want)
			}
		}
	}
}

// A bound is never said larger than it is, and days beyond the horizon are not none.
func TestAnswer_Bounds(t *testing.T) {
	ad := onlyIf()
	ad.Conditions[2].Number, ad.DaysToSell.High = 5.49, 0
	for language, says := range map[string][]string{"en": {"5:25", "later"}, "es": {"5:25", "después"}} {
		it := answerOf(voice(language, words.Metric), &intakev1.Sighting{}, ad)
		if !strings.Contains(strings.Join(it.Either, "\n"), says[0]) || it.Ranges[3].High != says[1] || it.Ranges[3].Low != "5" {
			t.Errorf("%s: %q, %v", language, it.Either, it.Ranges[3])
		}
	}
}

func TestSeen(t *testing.T) {
	seen := &intakev1.Sighting{Kind: "dresser", Title: "<i>Blue</i> dresser", Material: "veneer", Look: "stain", Size: typev1.PieceSize_PIECE_SIZE_LARGE, AskingPrice: usd(120, 0), DistanceKm: 8, Source: "attic"}
	open, gone := prospect(3, intakev1.Prospect_STATE_OPEN, seen), prospect(2, intakev1.Prospect_STATE_BOUGHT, seen)
	gone.PieceTag, gone.Paid = 455, usd(70, 0)
	s := &shop{advice: onlyIf(), kept: []*intakev1.Prospect{open, gone}}
	v := serve(t, s)
	status, body := v.Get("/buying/seen")
	pagetest.Want(t, "the list", status, http.StatusOK, body, []string{"/buying/seen/3", "/buying/seen/2", "paid 70.00", "/pieces/455", "&lt;i&gt;Blue"}, []string{"<i>Blue", "[buying"})
	_, body = v.Get("/buying/seen?state=bought")
	pagetest.Want(t, "bought ones", 200, 200, body, []string{"/buying/seen/2"}, []string{"/buying/seen/3"})
	status, body = v.Get("/buying/seen/3")
	pagetest.Want(t, "one", status, http.StatusOK, body, []string{"Only if you get it", "as advised 10:00", "/buying/advice?asking=120", "/buying/seen/3/bought", "to be stained"}, []string{"/buying/keep"})
	_, body = v.Get("/buying/seen/2")
	pagetest.Want(t, "one that was bought", 200, 200, body, []string{"now piece 455"}, []string{"/bought", "/left"})

	status, body = v.Send("/buying/seen/3/bought", url.Values{"then": {"bought"}, "request_id": {"r4"}, "etag": {`"3"`}, "paid": {"75,50"}, "from": {"attic"}})
	pagetest.Want(t, "bought", status, http.StatusSeeOther, body, []string{"/pieces/461"}, nil)
	if b := s.bought; b.RequestId != "r4" || b.Etag != `"3"` || b.Price.Nanos != 500_000_000 || b.Source != "attic" {
		t.Errorf("bought by %v", b)
	}
	s.closed = fault.New(fault.Precondition, "PROSPECT_CLOSED", "It is closed.")
	status, body = v.Send("/buying/seen/3/left", url.Values{"then": {"left"}, "reason": {"rot in the back"}})
	pagetest.Want(t, "left too late", status, http.StatusUnprocessableEntity, body, []string{"It is closed.", "rot in the back"}, nil)
	status, body = v.Get("/buying/seen/9")
	pagetest.Want(t, "none", status, http.StatusNotFound, body, []string{"no such prospect"}, nil)
}

// The form begins where the last one ended, at the same sale with where that is; what is typed is not touched.
func TestSighting_Begins(t *testing.T) {
	last := prospect(5, intakev1.Prospect_STATE_OPEN, &intakev1.Sighting{Kind: "chair", Look: "clear", DistanceKm: 16.09344, Source: "attic", AskingPrice: usd(9, 0)})
	s := &shop{kept: []*intakev1.Prospect{last}, pieces: []*intakev1.Piece{pieceFrom("flea market"), pieceFrom("auction"), pieceFrom("flea market"), pieceFrom("attic")}}
	v := serve(t, s)
	status, body := v.Get("/buying")
	pagetest.Want(t, "the form", status, http.StatusOK, body, []string{`<option value="clear" selected>`, `value="16.1"`, `value="attic"`, "/buying/seen/5", `<option value="attic"></option><option value="flea market"></option><option value="auction"></option>`},
		[]string{`value="chair" selected`, `value="9"`, "[buying", "style="})
	last.SeenTime = timestamppb.New(wednesday.Add(-7 * time.Hour))
	_, body = v.Get("/buying")
	pagetest.Want(t, "the next day", 200, 200, body, []string{`<option value="clear" selected>`}, []string{`value="16.1"`})
	_, body = v.Get("/buying?kind=desk&look=stain")
	pagetest.Want(t, "filled in", 200, 200, body, []string{`<option value="stain" selected>`, `<option value="desk" selected>`}, []string{`value="16.1"`})
}

func pieceFrom(source string) *intakev1.Piece {
	return &intakev1.Piece{Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Source: source}}}
}

func TestTerms(t *testing.T) {
	s := &shop{terms: &intakev1.BuyingTerms{TargetPerHour: usd(35, 0), Chance: 0.8, LabourPerHour: usd(0, 0), TravelPerKm: usd(0, 43), KmPerHour: 60, Etag: `"2"`}}
	v := serve(t, s)
	status, body := v.Get("/buying/terms?then=" + url.QueryEscape("/buying/advice?kind=desk"))
	pagetest.Want(t, "the form", status, http.StatusOK, body, []string{`value="35"`, `value="80"`, `value="0.43"`, `value="60"`, `value="/buying/advice?kind=desk"`, "/money/terms"}, []string{"[buying", "style=", `value="0"`})
	form := url.Values{"target": {"40"}, "chance": {"75"}, "labour": {"18.50"}, "travel": {"0.70"}, "speed": {"40"}, "per": {"mi"}, "handling": {"30"}, "etag": {`"2"`}, "then": {"/buying/advice?kind=desk"}}
	status, body = v.Send("/buying/terms", form)
	pagetest.Want(t, "kept", status, http.StatusSeeOther, body, []string{"/buying/advice?kind=desk"}, nil)
	if got := s.set.Terms; got.TargetPerHour.Units != 40 || got.Chance != 0.75 || got.TravelPerKm.Nanos != 430_000_000 || got.KmPerHour < 64.3 || got.KmPerHour > 64.4 || got.GetHandlingMinutes() != 30 || s.set.Etag != `"2"` {
		t.Errorf("kept %v", s.set)
	}
	form.Set("then", "//elsewhere.example/x")
	if _, body = v.Send("/buying/terms", form); !strings.HasSuffix(body, "/buying/terms") {
		t.Errorf("it leads elsewhere: %s", body)
	}
	for typed, minutes := range map[string]*int32{"": nil, "0": new(int32)} {
		form.Set("handling", typed)
		v.Send("/buying/terms", form)
		if got := s.set.Terms.HandlingMinutes; (got == nil) != (minutes == nil) || got != nil && *got != 0 {
			t.Errorf("%q typed keeps %v minutes", typed, got)
		}
		s.terms.HandlingMinutes = minutes
		_, body = v.Get("/buying/terms")
		pagetest.Want(t, "minutes", 200, 200, body, []string{`name="handling" inputmode="numeric" maxlength="5" placeholder="45" autocomplete="off" value="` + typed + `"`}, nil)
	}
	form.Set("target", "")
	status, body = v.Send("/buying/terms", form)
	pagetest.Want(t, "without a target", status, http.StatusBadRequest, body, []string{"each hour of labour is to leave", `value="18.50"`}, nil)
}

// Two owners who keep other terms are shown both, and the form has what each of them changed.
func TestTerms_ChangedMeanwhile(t *testing.T) {
	s := &shop{terms: &intakev1.BuyingTerms{TargetPerHour: usd(50, 0), Chance: 0.8, Etag: `"9"`}, setFails: fault.New(fault.Conflict, "ETAG_MISMATCH", "It moved on.")}
	status, body := serve(t, s).Send("/buying/terms", url.Values{"target": {"35"}, "chance": {"70"}, "was": {"chance=80&target=35"}, "etag": {`"2"`}})
	pagetest.Want(t, "both", status, http.StatusConflict, body, []string{"What changed meanwhile", `name="target" inputmode="decimal" maxlength="20" required autocomplete="off" value="50"`, `value="70"`, `value="&#34;9&#34;"`}, nil)
}

func TestBuying_ForOwners(t *testing.T) {
	v := serve(t, &shop{role: typev1.Role_ROLE_LEAD, advice: onlyIf()})
	for _, path := range []string{"/buying", "/buying/advice?" + typedIn().Encode(), "/buying/seen", "/buying/seen/3", "/buying/terms"} {
		status, body := v.Get(path)
		pagetest.Want(t, path, status, http.StatusForbidden, body, []string{"for the owner"}, []string{"Only if", `href="/buying"`})
	}
}
