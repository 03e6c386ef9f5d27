package labour_test

import (
	"math/big"
	"testing"
	"time"

	"tackfree/pkg/labour"
	"tackfree/pkg/money"
)

// timeAndAHalf is the rule of the act: over 40 hours a workweek, one and a half times the regular rate
// (29 CFR 778.101, 778.107).
var timeAndAHalf = labour.Rule{WeeklyAfter: 40 * time.Hour, Percent: 150}

// chicago is where the shop is.
var chicago = zone("America/Chicago")

func zone(name string) *time.Location {
	z, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return z
}

// local is an instant by a shop's clock in 2026.
func local(z *time.Location, month time.Month, day, hour, minute int) time.Time {
	return time.Date(2026, month, day, hour, minute, 0, 0, z)
}

// at is an instant by the clock in Chicago, in March of 2026.
func at(day, hour, minute int) time.Time { return local(chicago, time.March, day, hour, minute) }

// week is the workweek of Monday 9 March 2026.
func week(spells ...labour.Spell) labour.Workweek {
	return labour.Workweek{From: at(9, 0, 0), To: at(16, 0, 0), Zone: chicago, Spells: spells}
}

// job is some hours of a published example, paid at a rate; of what is paid otherwise the rate is 0.
type job struct {
	hours   float64
	perHour money.Amount
}

// worked lays the hours one after the other from Monday morning on, each job a spell of a day and the
// rest of another.
func worked(jobs ...job) (w labour.Workweek) {
	from := at(9, 0, 0)
	w = week()
	for i, j := range jobs {
		length := time.Duration(j.hours * float64(time.Hour))
		w.Spells = append(w.Spells, labour.Spell{Start: from, End: from.Add(length), PerHour: j.perHour,
			Pay: money.MulDiv(j.perHour, int64(length), int64(time.Hour)), Job: string(rune('A' + i))})
		from = from.Add(length)
	}
	return w
}

func and(w labour.Workweek, other money.Amount) labour.Workweek {
	w.Other = other
	return w
}

// The worked examples of 29 CFR part 778, and of others for the weighted average of 778.115, whose
// section has no numbers. Where a source rounds on the way, the exact figure is wanted and the printed
// one noted.
func TestRule_Due_Published(t *testing.T) {
	for _, c := range []struct {
		name    string // its section
		week    labour.Workweek
		regular string // cents an hour, a fraction
		premium money.Amount
		total   money.Amount
	}{
		{"778.110(a): 46 h at 12.00", worked(job{46, 12_00}), "1200", 36_00, 588_00},
		{"778.110(b): a production bonus of 46.00", and(worked(job{46, 12_00}), 46_00), "1300", 39_00, 637_00},
		{"778.110(a), text of 1981: 46 h at 6.00", worked(job{46, 6_00}), "600", 18_00, 294_00},
		{"778.110(b), text of 1981: a bonus of 9.20", and(worked(job{46, 6_00}), 9_20), "620", 18_60, 303_80},
		{"778.111(a): 491.00 by the piece in 46 h, 4 h of waiting at 8.00", and(worked(job{46, 0}, job{4, 8_00}), 491_00), "1046", 52_30, 575_30},
		{"778.113(a), text of 1981: 182.70 for 35 h", and(worked(job{35, 0}), 182_70), "522", 0, 182_70},
		{"778.113(a), text of 1981: the 36th to 40th hour at 5.22, the 41st at 7.83", and(worked(job{35, 0}, job{6, 5_22}), 182_70), "522", 2_61, 182_70 + 5*5_22 + 7_83},
		{"778.113(a): 350.00 for 35 h, the 41st hour at 15.00", and(worked(job{35, 0}, job{6, 10_00}), 350_00), "1000", 5_00, 350_00 + 5*10_00 + 15_00},
		{"778.113(a): 375.00 for 40 h", and(worked(job{40, 0}), 375_00), "1875/2", 0, 375_00}, // printed 9.38
		{"778.113(b): 1,560.00 a month, 40 h", and(worked(job{40, 0}), money.MulDiv(1560_00, 12, 52)), "900", 0, 360_00},
		{"778.113(b): 780.00 twice a month, 40 h", and(worked(job{40, 0}), money.MulDiv(780_00, 24, 52)), "900", 0, 360_00},
		{"778.113(b), text of 1981: 1,040.00 a month, 40 h", and(worked(job{40, 0}), money.MulDiv(1040_00, 12, 52)), "600", 0, 240_00},
		{"778.114: 600.00 a week, 37.5 h", and(worked(job{37.5, 0}), 600_00), "1600", 0, 600_00},
		{"778.114: 600.00 a week, 44 h", and(worked(job{44, 0}), 600_00), "15000/11", 27_27, 627_27}, // printed 13.64, and 627.28 from it
		{"778.114: 600.00 a week, 50 h", and(worked(job{50, 0}), 600_00), "1200", 60_00, 660_00},
		{"778.114: 600.00 a week, 48 h", and(worked(job{48, 0}), 600_00), "1250", 50_00, 650_00},
		{"778.115, Texas Workforce Commission: 44.5 h at 10.00, 8 h at 8.00", worked(job{44.5, 10_00}, job{8, 8_00}), "20360/21", 60_60, 569_60}, // 9.69524
		{"778.115: 45 h at 15.00, 5 h at 12.00", worked(job{45, 15_00}, job{5, 12_00}), "1470", 73_50, 808_50},
		{"778.115: 35 h at 15.00, 10 h at 7.00", worked(job{35, 15_00}, job{10, 7_00}), "11900/9", 33_06, 628_06}, // printed 13.22
		{"778.115: 30 h at 10.00, 15 h at 12.00", worked(job{30, 10_00}, job{15, 12_00}), "3200/3", 26_67, 506_67},
		{"778.115: 16 h at 7.00, 30 h at 8.00", worked(job{16, 7_00}, job{30, 8_00}), "17600/23", 22_96, 374_96}, // printed 22.95, of a rounded rate
	} {
		t.Run(c.name, func(t *testing.T) {
			due, err := timeAndAHalf.Due(c.week)
			if err != nil {
				t.Fatal(err)
			}
			regular, _ := due.Regular()
			want, _ := new(big.Rat).SetString(c.regular)
			if regular.Cmp(want) != 0 {
				t.Errorf("the regular rate is %s cents, want %s", regular, want)
			}
			if due.Premium != c.premium || due.Pay() != c.total {
				t.Errorf("the premium is %d and all pay %d, want %d and %d", due.Premium, due.Pay(), c.premium, c.total)
			}
		})
	}
}

// An hour of overtime costs one and a half times the regular rate, not one and a half times that of
// what was done in it, unless both agreed on that before (section 7(g)(2) of the act): of 45 h at
// 15.00 and 5 h at 12.00, of which 5 h each are overtime, that would be 802.50. The regular rate gives 808.50.
func TestRule_Due_NotTheRateOfTheHour(t *testing.T) {
	due, err := timeAndAHalf.Due(worked(job{45, 15_00}, job{5, 12_00}))
	if err != nil || due.Pay() != 808_50 {
		t.Errorf("the week comes to %d, %v, want 80850, not 80250", due.Pay(), err)
	}
}
