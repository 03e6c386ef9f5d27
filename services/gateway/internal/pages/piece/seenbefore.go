package piece

import (
	"context"
	"path"
	"strings"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/pages/piece/film"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// seenBefore is what was noted of the piece before it was bought.
type seenBefore struct {
	Missing bands.Missing
	Address string // of its prospect; empty: nobody noted it, or who asks does not buy
	Ticked  string
	Advised string
}

func loadSeenBefore(a *web.Asked, p *intakev1.Piece) (it seenBefore, err error) {
	if p.Prospect == "" || !a.User.Owns() {
		return it, nil
	}
	pr, err := prospectOf(a.Context(), a.Kit.Suite, p.Prospect)
	if err := it.Missing.Of(err); err != nil || it.Missing != "" {
		return it, err
	}
	it.Address = "/buying/seen/" + path.Base(p.Prospect)
	it.Ticked, it.Advised = tickedText(a.Voice, pr.GetSighting()), advisedText(a.Voice, pr.GetAdvice())
	return it, nil
}

func prospectOf(ctx context.Context, s *clients.Suite, name string) (*intakev1.Prospect, error) {
	r, err := s.Prospects.GetProspect(ctx, &intakev1.GetProspectRequest{Name: name})
	return r.GetProspect(), err
}

// tickedText is what was ticked: what was wrong with it, what lay on it, what it was to become.
func tickedText(v *words.Voice, s *intakev1.Sighting) string {
	var said []string
	for _, d := range s.GetDefects() {
		said = append(said, v.Word("buying.wrong", slug(d)))
	}
	old := v.T("buying.old.bare")
	if s.GetOldFinish() != "" {
		old = v.Word("film", film.FamilyOf(s.GetOldFinish()))
	}
	said = append(said, v.T("piece.seen.old", old), v.T("buying.to.be", v.Word("buying.look", slug(s.GetLook()))))
	return strings.Join(said, ", ")
}

// advisedText is what was expected of it, and what was the most to pay.
func advisedText(v *words.Voice, ad *intakev1.Advice) string {
	h := ad.GetHours()
	most := v.AtMost(ad.GetMostToPay())
	if v.Minor(ad.GetMostToPay()) < 0 {
		most = "0"
	}
	return v.T("piece.seen.advised", v.HoursAbout(h.GetLikely()), v.HoursAbout(h.GetLow()), v.HoursAbout(h.GetHigh()), v.About(ad.GetSalePrice().GetLikely()), most)
}

// slug makes an end of a key of what finish plans say with blanks.
func slug(word string) string {
	return strings.ToLower(strings.NewReplacer(" ", "_", "-", "_").Replace(word))
}
