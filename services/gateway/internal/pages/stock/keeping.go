package stock

import (
	"context"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// keeping is what has to be kept with care.
type keeping struct {
	Tab        string
	Flammables flammables
	NoFlames   bands.Missing
	Oily       *materialsv1.GetOilyWasteResponse
	NoOily     bands.Missing
	Air        *materialsv1.GetEmissionsResponse
	AirParts   []airPart
	NoAir      bands.Missing
	Checks     []oilyCheck
	Waste      []wasted
	MoreWaste  bool
	NoWaste    bands.Missing
	Machines   []*materialsv1.ListEquipmentResponse_Line
	NoMachines bands.Missing
	Month      time.Time // of the air and the waste
	Before     string    // the months beside it, 2026-02
	After      string    // empty: it has not begun
}

func showKeeping(w http.ResponseWriter, a *web.Asked) error { return showKeepingWith(w, a, nil) }

func showKeepingWith(w http.ResponseWriter, a *web.Asked, refused error) error {
	it := keeping{Tab: "keeping"}
	it.month(a.URL.Query().Get("month"), a.Now().In(a.Voice.Zone))
	if err := it.load(a.Context(), a.Kit.Suite); err != nil {
		return err
	}
	return a.ShowRefused(w, "stock", a.Voice.T("keeping.title"), it, refused)
}

// month chooses a month of the shop's calendar: the one that is asked for, or else this one.
func (k *keeping) month(asked string, now time.Time) {
	this := time.Date(now.Year(), now.Month(), 1, 0, 0, 0, 0, now.Location())
	k.Month = this
	if m, err := time.ParseInLocation("2006-01", asked, now.Location()); err == nil && m.Before(this) && m.Year() >= 2000 {
		k.Month = m
	}
	k.Before = k.Month.AddDate(0, -1, 0).Format("2006-01")
	if k.Month.Before(this) {
		k.After = k.Month.AddDate(0, 1, 0).Format("2006-01")
	}
}

func (k *keeping) load(ctx context.Context, s *clients.Suite) error {
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() error {
		r, err := s.Storage.GetFlammables(ctx, &materialsv1.GetFlammablesRequest{})
		k.Flammables = flammablesOf(r)
		return k.NoFlames.Of(err)
	})
	g.Go(func() (err error) {
		k.Oily, err = s.Storage.GetOilyWaste(ctx, &materialsv1.GetOilyWasteRequest{})
		k.Checks = checksOf(k.Oily.GetChecks())
		return k.NoOily.Of(err)
	})
	g.Go(func() (err error) {
		k.Air, err = s.Storage.GetEmissions(ctx, &materialsv1.GetEmissionsRequest{Year: int32(k.Month.Year()), Month: int32(k.Month.Month())})
		k.AirParts = airOf(k.Air)
		return k.NoAir.Of(err)
	})
	g.Go(func() error {
		r, err := s.Storage.ListWaste(ctx, &materialsv1.ListWasteRequest{FromTime: stamp(k.Month), ToTime: stamp(k.Month.AddDate(0, 1, 0)), PageSize: short})
		k.Waste, k.MoreWaste = wastedOf(r.GetWaste()), r.GetNextPageToken() != ""
		return k.NoWaste.Of(err)
	})
	g.Go(func() error {
		r, err := s.Equipment.ListEquipment(ctx, &materialsv1.ListEquipmentRequest{})
		k.Machines = r.GetLines()
		return k.NoMachines.Of(err)
	})
	return g.Wait()
}

// ways are how oily waste may have been put away.
var ways = map[string]materialsv1.OilyWasteWay{
	"spread_out": materialsv1.OilyWasteWay_OILY_WASTE_WAY_SPREAD_OUT,
	"metal_can":  materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN,
	"taken_away": materialsv1.OilyWasteWay_OILY_WASTE_WAY_TAKEN_AWAY,
}

// confirmOily notes that somebody saw to the oily waste of the day.
func confirmOily(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Storage.ConfirmOilyWaste(a.Context(), &materialsv1.ConfirmOilyWasteRequest{RequestId: a.RequestID(), Way: ways[a.Typed("way")], Note: a.Typed("note")})
	if fault.Of(err) != nil {
		return showKeepingWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/keeping", "keeping.oily.confirmed")
}

// withdrawOily says that a confirmation was a mistake: what was open before it is open again.
func withdrawOily(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Storage.WithdrawOilyWasteCheck(a.Context(), &materialsv1.WithdrawOilyWasteCheckRequest{RequestId: a.RequestID(), Name: a.Typed("check"), Reason: a.Typed("reason")})
	if fault.Of(err) != nil {
		return showKeepingWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/keeping", "keeping.oily.withdrawn")
}
