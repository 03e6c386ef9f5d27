package buying

import (
	"cmp"
	"context"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// form is the form that is filled in before a piece.
type form struct {
	Values  url.Values
	Kinds   []choice
	Sizes   []choice
	Stuffs  []choice // of what it is made
	Olds    []choice
	Wrongs  []group
	Looks   []choice
	Woods   []choice
	Parts   []partRow
	Unit    string // of distances
	Length  string // unit of parts
	Sources []string
	More    bool   // something rarely used is filled in, or was missing
	Belief  string // where the owner can say what such a kind brings; empty: nobody asked for it
	Open    []line // what was seen and not decided
}

type group struct {
	Word string
	All  []choice
}

type partRow struct{ Label, Count, Length, Width, Thickness string }

// blankParts is how many rows for measured parts there are beside those that are filled in.
const blankParts = 3

// rarely are the fields that are folded away.
var rarely = []string{"title", "species", "painted", "extra", "channel", "chance", "target", "part"}

// V is what a field has.
func (f form) V(field string) string { return f.Values.Get(field) }

// formOf lays the form out with what is in it.
func formOf(v *words.Voice, q url.Values) form {
	q = inReadersUnits(v, q)
	f := form{Values: q, Unit: distanceUnit(v), Length: cmp.Or(q.Get("unit"), lengthUnit(v))}
	for _, k := range typed.Kinds {
		f.Kinds = append(f.Kinds, choice{k, kindText(v, k), q.Get("kind") == k})
	}
	f.Sizes = choices(v, "buying.size", typed.SizeWords, q.Get("size"))
	f.Stuffs = choices(v, "buying.material", materials, cmp.Or(q.Get("material"), materials[0]))
	old := cmp.Or(q.Get("old"), string(finish.UnknownFinish))
	for _, o := range slices.Concat([]string{string(finish.UnknownFinish), bare}, wordsOf(finish.Families())) {
		f.Olds = append(f.Olds, choice{o, oldText(v, o), o == old})
	}
	for _, w := range wrongs {
		f.Wrongs = append(f.Wrongs, group{w.Group, choices(v, "buying.wrong", w.Defects, q["wrong"]...)})
	}
	f.Looks = choices(v, "buying.look", looks, q.Get("look"))
	for _, wood := range finish.SpeciesNames() {
		f.Woods = append(f.Woods, choice{wood, v.Word("species", wood), wood == q.Get("species")})
	}
	f.Parts = partRows(q)
	f.More = slices.ContainsFunc(rarely, func(field string) bool { return q.Get(field) != "" })
	return f
}

func wordsOf[W ~string](all []W) (out []string) {
	for _, w := range all {
		out = append(out, string(w))
	}
	return out
}

func partRows(q url.Values) (rows []partRow) {
	at := func(field string, i int) string {
		if i < len(q[field]) {
			return q[field][i]
		}
		return ""
	}
	for i := range q["part"] {
		rows = append(rows, partRow{q["part"][i], at("count", i), at("length", i), at("width", i), at("thickness", i)})
	}
	for len(rows) < len(q["part"])+blankParts && len(rows) < 20 {
		rows = append(rows, partRow{})
	}
	return rows
}

// inReadersUnits turns a distance that was typed in another unit, as in an address that somebody else sent.
func inReadersUnits(v *words.Voice, q url.Values) url.Values {
	if per := q.Get("per"); per == "" || per == distanceUnit(v) || q.Get("distance") == "" {
		return q
	}
	out := maps.Clone(q)
	f := wishForm(v, q)
	if km := distanceOf(f); f.Err() == nil {
		out.Set("distance", distanceText(v, km))
		out.Set("per", distanceUnit(v))
	}
	return out
}

func showSighting(w http.ResponseWriter, a *web.Asked) error {
	return showSightingWith(w, a, told(a.URL.Query()), nil)
}

// showSightingWith shows the form with what is in it; a blank one begins where the last one ended.
func showSightingWith(w http.ResponseWriter, a *web.Asked, q url.Values, refused error) error {
	var last []*intakev1.Prospect
	var sources []string
	var reading errgroup.Group
	reading.Go(func() (err error) { last, err = latest(a); return err })
	reading.Go(func() (err error) { sources, err = sourcesOf(a); return err })
	if err := reading.Wait(); err != nil {
		return err
	}
	if len(last) > 0 {
		q = begun(a.Voice, q, last[0], a.Now())
	}
	f := formOf(a.Voice, q)
	f.Sources = formerSources(sources, last)
	f.Open = linesOf(a.Voice, slices.DeleteFunc(slices.Clone(last), func(p *intakev1.Prospect) bool { return p.State != intakev1.Prospect_STATE_OPEN }))
	switch fault.Reason(refused) {
	case "BELIEF_MISSING":
		f.Belief = "/money/terms?kind=" + url.QueryEscape(kindOf(wishForm(a.Voice, q)))
	case "PARTS_UNKNOWN":
		f.More = true
	}
	return show(w, a, a.Voice.T("buying.title"), page{Tab: "look", Form: &f}, refused)
}

// sameSale is for how long the next piece is most likely at the same sale.
const sameSale = 6 * time.Hour

// begun fills what a blank form begins with: the look of the piece before it, and at the same sale where that is.
func begun(v *words.Voice, q url.Values, last *intakev1.Prospect, now time.Time) url.Values {
	was := valuesOf(v, last.Sighting)
	again := []string{"look"}
	if now.Sub(last.SeenTime.AsTime()) < sameSale {
		again = append(again, "source", "distance", "per", "channel")
	}
	out := maps.Clone(q)
	for _, field := range again {
		if len(q) == 0 && was.Get(field) != "" {
			out[field] = was[field]
		}
	}
	return out
}

// latest reads what was seen last, the latest first.
func latest(a *web.Asked) ([]*intakev1.Prospect, error) {
	r, err := a.Kit.Suite.Prospects.ListProspects(a.Context(), &intakev1.ListProspectsRequest{PageSize: seenAtOnce})
	return r.GetProspects(), err
}

// mostSources is how many former sources are suggested.
const mostSources = 40

// sourcesOf reads where the shop's pieces are from.
func sourcesOf(a *web.Asked) (out []string, err error) {
	pieces, err := clients.All(a.Context(), func(ctx context.Context, token string) ([]*intakev1.Piece, string, error) {
		r, err := a.Kit.Suite.Intake.ListPieces(ctx, &intakev1.ListPiecesRequest{PageSize: 1000, PageToken: token})
		return r.GetPieces(), r.GetNextPageToken(), err
	})
	for _, p := range pieces {
		out = append(out, p.GetPurchase().GetSource())
	}
	return out, err
}

// formerSources puts first where most was bought, after where something was seen last.
func formerSources(bought []string, last []*intakev1.Prospect) (out []string) {
	count := map[string]int{}
	for _, s := range bought {
		count[s]++
	}
	for _, p := range last {
		if s := p.Sighting.GetSource(); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	rest := slices.SortedFunc(maps.Keys(count), func(a, b string) int { return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b)) })
	for _, s := range rest {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out[:min(len(out), mostSources)]
}
