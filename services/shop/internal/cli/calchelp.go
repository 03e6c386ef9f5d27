package cli

import "strings"

// calcHelp says of each calculation how it is typed and which fields --json prints.
var calcHelp = []struct{ name, flags, fields string }{
	{"emc", "--temp=TEMP, and --rh=PERCENT or --moisture=PERCENT",
		"emc_percent: moisture content of wood at rest, percent of its dry mass; with --moisture instead rh_percent: relative humidity, percent."},
	{"dewpoint", "--temp=TEMP, and --rh=PERCENT or --wet-bulb=TEMP [--surface=TEMP: as the air]",
		"dew_point_c: °C. rh_percent: relative humidity, percent. spread_c: °C from the dew point up to the surface. " +
			"vapour_pressure_deficit_hpa: hPa. absolute_humidity_g_per_m3: g/m3. fit_for_coating: true or false, by the usual limits " +
			"(10 to 32 °C, at most 85 %, 3 °C above the dew point). obstacles: what stands against it, in words."},
	{"coverage", "--area=AREA --solids=PERCENT --dft=FILM [--coats=1] [--transfer=PERCENT or --method=WORD: 100 percent] [--thinning=0] [--set-ups=COUNT: 0, or 1 with a loss] [--loss=VOLUME: 0L]",
		"litres: L of the product as it is sold. spreading_rate_m2_per_l: m2/L with nothing lost. fluid_ounces: litres in US fl oz. thinner_litres: L beside it. " +
			"practical_rate_m2_per_l: m2/L with what is lost in the air. wet_film_um: micrometres of a coat as laid. loss_litres: L of litres, at set-ups. " +
			"transfer_percent: percent that was reckoned with. set_ups: count. assumed: what no flag said, in words."},
	{"voc", "--density=DENSITY --solids=PERCENT [--water=0] [--exempt=0] [--exempt-density=800g/L] [--volume=VOLUME]",
		"actual_g_per_l: g of volatile compounds in a litre. less_water_g_per_l: g in a litre without water and exempt compounds. emission_g: g that --volume lets go; only with it."},
	{"dry", "--carrier=WORD --stated=TIME --temp=TEMP --rh=PERCENT [--stated-temp=25C] [--stated-rh=50] [--stated-film=100um] [--min-temp=TEMP: 4.4C] [--film=FILM: as stated]",
		"likely_h: hours until it is where the stated time says. early_h, late_h: hours, nine times in ten not before the one, nine in ten by the other; " +
			"the range allows for the air to change, as it is read but once. null: never. too_cold: true below the lowest temperature, where none of them is to be relied upon."},
	{"sand", "--from=GRADE --to=GRADE",
		"sequence: each with its grade and its size in micrometres. fit_before_stain: whether the last one leaves wood that takes a stain."},
}

const calcValues = `TEMP is 70F, 21C or 294K, below zero as in --temp=-5C. PERCENT is 50 or 50%. AREA is 36ft2, 3.3m2, 200in2 or 4yd2. ` +
	`FILM is 1.5mil, 40um or 0.1mm. VOLUME is 1L, 30mL, 1floz, 1pt, 1qt or 1gal. DENSITY is 1020g/L, 1.02kg/L, 1.02g/mL or 8.5lb/gal. ` +
	`TIME is 4h, 90min or 2d. GRADE is P80, or 80 for a CAMI grade. Numbers may have a fraction, as in 1-1/2mil.`

// Help implements kong.HelpProvider; so do those that follow.
func (calcCmd) Help() string {
	all := []string{"Each prints a sentence, or with --json one object with the fields named here. What is in brackets may be left out, and has the value beside it.", calcValues}
	for _, c := range calcHelp {
		all = append(all, "shop calc "+c.name+" "+c.flags, "--json "+c.fields)
	}
	return strings.Join(all, "\n\n")
}

func (emcCmd) Help() string      { return helpOf("emc") }
func (dewpointCmd) Help() string { return helpOf("dewpoint") }
func (coverageCmd) Help() string { return helpOf("coverage") }
func (vocCmd) Help() string      { return helpOf("voc") }
func (dryCmd) Help() string      { return helpOf("dry") }
func (sandCmd) Help() string     { return helpOf("sand") }

func helpOf(name string) string {
	for _, c := range calcHelp {
		if c.name == name {
			return calcValues + "\n\nWith --json it prints " + c.fields
		}
	}
	return calcValues
}
