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
	t.Parallel()
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
		{"coverage --area 36ft2 --coats 3 --solids 40 --dft 1.5mil --transfer 65 --loss 50mL", "litres", 1.5203, 0.00005}, // one set-up
		{"coverage --area 36ft2 --coats 3 --solids 40 --dft 1.5mil --transfer 65 --loss 50mL --set-ups 0", "litres", 1.4703, 0.00005},
		{"coverage --area 36ft2 --solids 40 --dft 1.5mil", "transfer_percent", 100, 0},
		{"coverage --area 36ft2 --solids 40 --dft 1.5mil --method hvlp", "transfer_percent", 65, 0},
		{"dry --carrier two-part --stated 4h --temp 25C --rh 50 --film 200um", "likely_h", 4 * 2.8284, 0.001},
		{"dry --carrier two-part --stated 4h --temp 25C --rh 50", "late_h", 4 * 1.9941, 0.001}, // e^(1.2816 × √(0.4² + 0.2² + 0.3²))
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
	if likely, ok := calc(t, "dry --carrier solvent --stated 2h --temp 25C --rh 100")["likely_h"].(float64); !ok || likely < 2 || likely > 3 {
		t.Errorf("a solvent leaves wet air after %v h", likely)
	}
	for args, want := range map[string]bool{"--temp=-10C": true, "--temp 3C": true, "--temp 5C": false, "--temp 5C --min-temp 10C": true, "--temp 3C --min-temp 0C": false} {
		if cold := calc(t, "dry --carrier two-part --stated 4h --rh 50 "+args)["too_cold"]; cold != want {
			t.Errorf("dry %s: too cold is %v, want %v", args, cold, want)
		}
	}
	for args, want := range map[string]int{"": 1, "--transfer 65": 0, "--method hvlp --loss 30mL": 1, "--method hvlp --set-ups 2": 1, "--method hvlp --set-ups 2 --loss 30mL": 0, "--loss 30mL": 2} {
		if assumed, ok := calc(t, "coverage --area 36ft2 --solids 40 --dft 1.5mil "+args)["assumed"].([]any); !ok || len(assumed) != want {
			t.Errorf("coverage %s assumes %q, want %d things", args, assumed, want)
		}
	}
}

// Every number that people read has its unit.
func TestCalc_Words(t *testing.T) {
	t.Parallel()
	for args, want := range map[string]string{
		"emc --temp 70F --rh 50":                                 "9.2 % of its dry mass in air of 21.1 °C",
		"dewpoint --temp 16C --rh 71 --surface 13C":              "not fit for coating: the surface is 2.3 °C above the dew point",
		"coverage --area 36ft2 --solids 40 --dft 1.5mil":         "fl oz) of the product",
		"voc --density 900g/L --solids 40":                       "540 g of volatile compounds",
		"dry --carrier solvent --stated 2h --temp 25C --rh 50":   "Most likely after 2.0 h",
		"dry --carrier water --stated 2h --temp 20C --rh 100":    "does not dry",
		"sand --from P80 --to P320":                              "end between P150 and P220",
		"coverage --area 1m2 --solids 40 --dft 1mil --set-ups 2": "Assumed: all of the solids end up on the piece (100 %; say --method or --transfer); nothing is lost at a set-up (say --loss).",
		"dry --carrier solvent --stated 2h --temp 20C --rh 100":  "Most likely after 3.3 h",
		"dry --carrier two-part --stated 4h --temp=-10C --rh 50": "At this temperature it does not dry. At -10.0 °C it is colder than the 4.4 °C that it needs at least",
		"dry --carrier two-part --stated 4h --temp=3C --rh 50":   "these times are not to be relied upon",
	} {
		var out, errs bytes.Buffer
		code := Run(t.Context(), append([]string{"calc"}, strings.Fields(args)...), &out, &errs)
		if code != 0 || !strings.Contains(out.String(), want) {
			t.Errorf("shop calc %s exits %d: %s%s, want %q", args, code, out.String(), errs.String(), want)
		}
	}
}

func TestCalc_Refuses(t *testing.T) {
	t.Parallel()
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
		"emc --temp 20C --rh 0":                                                 "relative humidity is 0 %; it must be from 0.1 % to 100 %",
		"emc --temp=-20C --rh 50":                                               "air temperature is -20 °C; it must be from -1.2 °C to 60 °C",
		"emc --temp=-50C --rh 50":                                               "it must be from -1.2 °C to 60 °C",
		"dewpoint --temp 20C --rh 0":                                            "relative humidity is 0 %; it must be from 0.1 % to 100 %",
		"dewpoint --temp 20C --wet-bulb 0C":                                     "wet bulb is 0.0 °C, which is too low for a dry bulb of 20.0 °C; it must be from 6.1 °C to 20.0 °C",
		"dry --carrier oil --stated 0h --temp 20C --rh 50":                      "--stated is 0 h; it must be above 0 h and at most 2160 h",
		"dry --carrier oil --stated 2h --temp 20C --rh 50 --film 0um":           "--film is 0 µm; it must be from 1 µm to 5000 µm",
		"dry --carrier oil --stated 2h --temp 20C --rh 50 --stated-film 0um":    "--stated-film is 0 µm; it must be from 1 µm to 5000 µm",
		"dry --carrier oil --stated 2h --temp 20C --rh 50 --stated-temp 0C":     "--stated-temp is 0 °C; it must be from 5 °C to 60 °C",
		"dry --carrier oil --stated 2h --temp 20C --rh 50 --stated-rh 0%":       "--stated-rh is 0 %; it must be from 5 % to 95 %",
		"dry --carrier oil --stated 2h --temp 20C --rh 50 --min-temp 30C":       "lowest temperature is 30 °C; it must be from -20 °C to 25 °C",
		"coverage --area 36ft2 --solids 40 --dft 1mil --method=":                "no way to apply a coating",
		"coverage --area 36ft2 --solids 40 --dft 1mil --transfer 0":             "transfer efficiency is 0 %",
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

// fieldsOf are the names in what a calculation prints for scripts, at every depth.
func fieldsOf(figures any) (names []string) {
	switch v := figures.(type) {
	case map[string]any:
		for name, inside := range v {
			names = append(append(names, name), fieldsOf(inside)...)
		}
	case []any:
		for _, inside := range v {
			names = append(names, fieldsOf(inside)...)
		}
	}
	return names
}

// Help names every flag, every default and every field, in the group and by itself.
func TestCalc_Help(t *testing.T) {
	t.Parallel()
	_, group, _ := run(t, "calc", "--help")
	group = blanks.ReplaceAllString(strings.ReplaceAll(group, "\n", " "), " ")
	for _, args := range []string{"emc --temp 70F --rh 50", "emc --temp 70F --moisture 8", "dewpoint --temp 20C --rh 65", "coverage --area 36ft2 --solids 40 --dft 1mil",
		"voc --density 900g/L --solids 40 --volume 2L", "dry --carrier oil --stated 2h --temp 20C --rh 50", "sand --from P80 --to P220"} {
		name, _, _ := strings.Cut(args, " ")
		_, own, _ := run(t, "calc", name, "--help")
		_, whole, _ := strings.Cut(group, "shop calc "+name+" ")
		whole, _, _ = strings.Cut(whole, "shop calc ")
		for _, field := range fieldsOf(calc(t, args)) {
			if !strings.Contains(own, field) || !strings.Contains(whole, field) {
				t.Errorf("the help of shop calc %s does not name %s:\n%s\nor its group's does not:\n%s", name, field, own, whole)
			}
		}
		for _, f := range leaves(t)["calc "+name].Flags {
			if f.Name != "help" && f.Name != "json" && !strings.Contains(whole, "--"+f.Name) {
				t.Errorf("shop calc --help does not name --%s of %s", f.Name, name)
			}
			if f.HasDefault && f.Name != "json" && (!strings.Contains(own, "--"+f.Name+"="+f.Default) || !strings.Contains(whole, "--"+f.Name+"="+f.Default)) {
				t.Errorf("--%s of shop calc %s does not show its default %s", f.Name, name, f.Default)
			}
		}
	}
}
