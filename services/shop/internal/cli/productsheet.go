package cli

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/coating"
	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/shop/internal/client"
)

type sheetCmd struct {
	command
	Product string `arg:"" help:"Display name."`
	None    bool   `help:"Take the sheet away: the product is no coating."`
	sheetFlags
}

// sheetFlags are what a data sheet says.
type sheetFlags struct {
	Family       string `help:"Its film: shellac, dewaxed shellac, nitrocellulose lacquer, catalysed lacquer, drying oil, alkyd or oil varnish, oil-modified polyurethane, water-borne acrylic, water-borne polyurethane, chalk-type paint, milk paint, latex paint, wax, two-part." placeholder:"WORDS"`
	Carrier      string `help:"What it dries by: water, solvent, oil or two-part." placeholder:"WORD"`
	Light        bool   `help:"It is of a light colour, on which bleeding shows."`
	BlocksStains bool   `help:"It holds tannin and old colour back."`
	Method       string `help:"How the shop puts it on: brush, roller, wipe, dip, air spray, airless, air-assisted airless, hvlp. Without it: by brush." placeholder:"WORDS"`

	Solids   percent    `help:"Volume solids, in percent, such as 38." placeholder:"PERCENT"`
	Film     micrometre `help:"Dry film of one coat, such as 35um or 1.5mil; without it there is none, as of a wax or a stain." placeholder:"FILM"`
	Thinning percent    `help:"Thinner, in percent of the product's volume." placeholder:"PERCENT"`
	Transfer percent    `help:"Share of the solids that ends up on the piece, in percent. Without it: the usual for the method." placeholder:"PERCENT"`
	Loss     litre      `help:"What each filling and cleaning of the tool loses, such as 30mL." placeholder:"VOLUME"`

	StatedTemp celsius `help:"The air that the times are for, such as 25C or 77F. Without it: 25C." placeholder:"TEMP"`
	StatedRH   percent `name:"stated-rh" help:"Its relative humidity, in percent. Without it: 50." placeholder:"PERCENT"`
	PerTen     float64 `name:"per-ten-degrees" help:"How many times faster it dries for each 10 °C more. Without it: the usual law." placeholder:"FACTOR"`

	Touch        hour `help:"Set to touch after, such as 30min." placeholder:"TIME"`
	TackFree     hour `help:"Tack-free after, such as 1h." placeholder:"TIME"`
	Sand         hour `help:"Dry to sand after, such as 3h." placeholder:"TIME"`
	Recoat       hour `help:"Takes another coat after, such as 4h." placeholder:"TIME"`
	RecoatCloses hour `help:"Takes one without scuffing until, such as 3d. Without it: for ever." placeholder:"TIME"`
	Cure         hour `help:"Cured after, such as 14d." placeholder:"TIME"`

	MinTemp celsius `help:"The coldest air and surface to put it on in, such as 10C or 50F. All three of these or none: then the usual limits." placeholder:"TEMP"`
	MaxTemp celsius `help:"The hottest." placeholder:"TEMP"`
	MaxRH   percent `name:"max-rh" help:"The dampest air, in percent." placeholder:"PERCENT"`

	VOC gramsPerL `name:"voc" help:"Volatile organic compounds as sold, such as 50g/L or 0.42lb/gal." placeholder:"DENSITY"`
}

func (c *sheetCmd) Run(e *env) error {
	sheet, err := c.sheet()
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Product(e.ctx, c.Product)
		if err != nil {
			return err
		}
		resp, err := shop.Materials.SetCoatingSheet(e.ctx, &materialsv1.SetCoatingSheetRequest{RequestId: c.request(), Product: p.Name, CoatingSheet: sheet})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printSheet(e, resp.Product) })
	})
}

// sheet is what the flags say: a sheet, or with --none that there is none.
func (c *sheetCmd) sheet() (*typev1.CoatingSheet, error) {
	sheet := c.numbers()
	said := c.Family+c.Carrier+c.Method != "" || proto.Size(sheet) > 0
	switch {
	case c.None && said:
		return nil, errors.New("--none takes the sheet away; leave out what it says")
	case c.None:
		return nil, nil
	case c.Family == "" || c.Carrier == "":
		return nil, errors.New("say the --family of its film and the --carrier that it dries by; or --none, that it is no coating")
	}
	return sheet, c.words(sheet)
}

// numbers are the flags that need no reading.
func (c sheetFlags) numbers() *typev1.CoatingSheet {
	return &typev1.CoatingSheet{
		Light: c.Light, BlocksStains: c.BlocksStains, VolumeSolidsPercent: float64(c.Solids), DryFilmUm: float64(c.Film),
		ThinningPercent: float64(c.Thinning), TransferPercent: float64(c.Transfer), LossPerSetUpLitres: float64(c.Loss),
		ReferenceCelsius: float64(c.StatedTemp), ReferenceHumidityPercent: float64(c.StatedRH), RatePerTenCelsius: c.PerTen,
		SetToTouchMinutes: c.Touch.minutes(), TackFreeMinutes: c.TackFree.minutes(), SandMinutes: c.Sand.minutes(),
		RecoatMinutes: c.Recoat.minutes(), RecoatClosesMinutes: c.RecoatCloses.minutes(), CureMinutes: c.Cure.minutes(),
		MinCelsius: float64(c.MinTemp), MaxCelsius: float64(c.MaxTemp), MaxHumidityPercent: float64(c.MaxRH), VocGramsPerLitre: float64(c.VOC),
	}
}

// words reads the flags that are words.
func (c sheetFlags) words(into *typev1.CoatingSheet) (err error) {
	if into.Family, err = numberOf[typev1.FilmFamily]("family", c.Family, finish.Families()); err != nil {
		return err
	}
	if into.Carrier, err = numberOf[typev1.Carrier]("carrier", c.Carrier, carriers); err != nil || c.Method == "" {
		return err
	}
	into.Method, err = numberOf[typev1.ApplicationMethod]("method", c.Method, methods)
	return err
}

// The words of the trade in the order of the contract, from its number 1 on; those of
// the films are finish.Families.
var (
	carriers = []drying.Carrier{drying.Water, drying.Solvent, drying.Oil, drying.TwoPart}
	methods  = []coating.Method{coating.Brush, coating.Roller, coating.Wipe, coating.Dip, coating.AirSpray, coating.Airless, coating.AirAssistedAirless, coating.HVLP}
)

func numberOf[E ~int32, W ~string](flag, typed string, words []W) (E, error) {
	all := make([]string, len(words))
	for i, w := range words {
		if all[i] = string(w); strings.EqualFold(all[i], strings.TrimSpace(typed)) {
			return E(i + 1), nil
		}
	}
	return 0, fmt.Errorf("--%s is %q; use one of: %s", flag, typed, strings.Join(all, ", "))
}

// wordOf is the other way round; a number that this program does not know is shown as it is.
func wordOf[E ~int32, W ~string](number E, words []W) string {
	if number < 1 || int(number) > len(words) {
		return fmt.Sprint(int32(number))
	}
	return string(words[number-1])
}

// minutes counts a started minute, but for what comes of reckoning in hours; more than
// there can be stays too many.
func (v hour) minutes() int32 {
	return int32(max(-1, min(math.Ceil(float64(v)*60-1e-6), math.MaxInt32)))
}
