package cli

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// calc runs a calculation and returns its figures.
func calc(t *testing.T, args string) map[string]any {
	t.Helper()
	var out, errs bytes.Buffer
	if code := Run(t.Context(), append([]string{"calc"}, strings.Fields(args+" --json")...), &out, &errs); code != 0 {
		t.Fatalf("shop calc %s exits %d: %s", args, code, errs.String())
	}
	figures := map[string]any{}
	if err := json.Unmarshal(out.Bytes(), &figures); err != nil {
		t.Fatalf("shop calc %s prints %q: %v", args, out.String(), err)
	}
	return figures
}

// The packages behind them are checked against published figures; these are the words, the
// units and the names that scripts hold on to. Sources as there.
func TestCalc_Figures(t *testing.T) {
	for _, c := range []struct {
		args, figure string
		want, within float64
	}{
		{"emc --temp 70F --rh 50", "emc_percent", 9.246, 0.0006},
		{"emc --temp 70F --moisture 8", "rh_percent", 41.97, 0.006},
		{"dewpoint --temp 20C --rh 65", "dew_point_c", 13.217, 0.0006},
		{"dewpoint --temp 21C --wet-bulb 17C", "rh_percent", 66.9, 0.05},
		{"dewpoint --temp 16C --rh 71 --surface 13C", "spread_c", 2.259, 0.001},
		{"coverage --area 36ft2 --coats 3 --solids 40 --dft 1.5mil --transfer 65", "litres", 1.4703, 0.00005},
		{"coverage --area 36ft2 --coats 3 --solids 40 --dft 1.5mil --method hvlp", "litres", 1.4703, 0.00005},
		{"coverage --area 36ft2 --coats 3 --solids 40 --dft 1.5mil --transfer 65", "spreading_rate_m2_per_l", 10.4987, 0.00005},
		{"coverage --area 36ft2 --coats 3 --solids 40 --dft 1.5mil --transfer 65 --set-ups 2 --loss 50mL", "litres", 1.5703, 0.00005},
		{"voc --density 8.52lb/gal --solids 20.8 --water 53", "less_water_g_per_l", 584, 0.5},
		{"voc --density 900g/L --solids 40 --volume 2L", "emission_g", 1080, 1e-9},
		{"dry --carrier two-part --stated 4h --stated-temp 23C --temp 10C --rh 50", "likely_h", 4 * 2.588, 0.002},
		{"dry --carrier water --stated 2h --temp 25C --rh 80", "likely_h", 5, 1e-6},
	} {
		got, ok := calc(t, c.args)[c.figure].(float64)
		if !ok || math.Abs(got-c.want) > c.within {
			t.Errorf("shop calc %s: %s = %v, want %v", c.args, c.figure, got, c.want)
		}
	}
	if sequence, ok := calc(t, "sand --from P80 --to P220")["sequence"].([]any); !ok || len(sequence) != 4 {
		t.Errorf("shop calc sand: %v", sequence)
	}
	if likely, there := calc(t, "dry --carrier water --stated 2h --temp 20C --rh 100")["likely_h"]; !there || likely != nil {
		t.Errorf("in wet air it is dry after %v", likely)
	}
}

// Every number that people read has its unit.
func TestCalc_Words(t *testing.T) {
	for args, want := range map[string]string{
		"emc --temp 70F --rh 50":                               "9.2 % of its dry mass in air of 21.1 °C",
		"dewpoint --temp 16C --rh 71 --surface 13C":            "not fit for coating: the surface is 2.3 °C above the dew point",
		"coverage --area 36ft2 --solids 40 --dft 1.5mil":       "fl oz) of the product",
		"voc --density 900g/L --solids 40":                     "540 g of volatile compounds",
		"dry --carrier solvent --stated 2h --temp 25C --rh 50": "Most likely after 2.0 h",
		"dry --carrier water --stated 2h --temp 20C --rh 100":  "does not dry",
		"sand --from P80 --to P320":                            "end between P150 and P220",
	} {
		var out, errs bytes.Buffer
		code := Run(t.Context(), append([]string{"calc"}, strings.Fields(args)...), &out, &errs)
		if code != 0 || !strings.Contains(out.String(), want) {
			t.Errorf("shop calc %s exits %d: %s%s, want %q", args, code, out.String(), errs.String(), want)
		}
	}
}

func TestCalc_Refuses(t *testing.T) {
	for args, want := range map[string]string{
		"emc --temp 70X --rh 50":                                                `"70X" has no unit of temperature; use C, F, K`,
		"emc --temp 70F --rh 150":                                               "relative humidity is 150 %; it must be from 0.1 % to 100 %",
		"emc --temp 70F":                                                        "--rh",
		"emc --temp=-500F --rh 50":                                              "air temperature",
		"dewpoint --temp 20C":                                                   "--wet-bulb",
		"coverage --area 36ft2 --solids 40 --dft 0mil":                          "dry film is 0 µm; it must be above 0 µm",
		"coverage --area 36ft2 --solids 40 --dft 1mil --method mop":             "no way to apply a coating",
		"coverage --area NaNft2 --solids 40 --dft 1mil":                         "NaNft2",
		"dry --carrier tea --stated 2h --temp 20C --rh 50":                      "no carrier",
		"sand --from P220 --to P80":                                             "from coarse to fine",
		"sand --from P81 --to P220":                                             "no grade P81",
		"voc --density 900g/L --solids 80 --water 30":                           "solids, water and exempt compounds together",
		"coverage --area 1m2 --solids 40 --dft 1mil --transfer 50 --method dip": "can't be used together",
	} {
		var out, errs bytes.Buffer
		code := Run(t.Context(), append([]string{"calc"}, strings.Fields(args)...), &out, &errs)
		if code == 0 || !strings.Contains(errs.String(), want) || out.Len() > 0 {
			t.Errorf("shop calc %s exits %d: %s%s, want %q", args, code, out.String(), errs.String(), want)
		}
	}
}
