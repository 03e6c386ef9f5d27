package cli

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"tackfree/pkg/protocsv"
)

// noTable are commands that answer a question and have no rows for a spreadsheet, and why.
var noTable = map[string]string{
	"bench advice": "a measurement", "bench pages": "a measurement", "bench clock": "a measurement", "bench costing": "a measurement", "bench floor": "a measurement", "bench growth": "a measurement",
	"bench lag": "a measurement", "bench planner": "a measurement", "bench outage": "a measurement", "bench rebuild": "a measurement", "bench restock": "a measurement",
	"bench stock": "a measurement", "bench verify": "a measurement",
	"calc coverage": "arithmetic", "calc dewpoint": "arithmetic", "calc dry": "arithmetic", "calc emc": "arithmetic", "calc sand": "arithmetic", "calc voc": "arithmetic",
	"complete": "answers a shell", "completion": "writes a script", "cost journal": "is a table already; --format json is its other form", "cost payroll export": "is a table already",
	"cost progress": "a sentence", "cost rebuild": "a sentence", "cost verify": "a sentence", "verify": "a sentence",
	"cost watch": "goes on for ever; --json is how programs read it", "watch": "goes on for ever; --json is how programs read it",
	"day": "a page of several lists; clock list, stage next and hours have each", "demo": "plays a story; cost list has its rows",
	"owner claim": "brings a secret", "owner reset": "brings a secret", "person pin": "brings a secret", "person passphrase": "brings a secret", "token add": "answers with a secret",
	"health": "answers by its exit code", "photo save": "writes a file", "print bags": "writes a file", "print cans": "writes a file", "print tags": "writes a file", "print estimate": "writes a file", "print change-order": "writes a file", "print invoice": "writes a file", "print receipt": "writes a file", "plan-finish": "a page of several lists; --json has them", "plan solve": "figures; --out has the plan", "provision": "sets up", "restored": "sets up",
	"stock export": "is a table already", "up": "opens a shop",
}

// What asks the shop something is answered as JSON and as a table.
func TestFlags_WhateverListsHasCSV(t *testing.T) {
	t.Parallel()
	all := leaves(t)
	for name, n := range all {
		flags := flagsOf(n)
		if slices.Contains(flags, "request-id") || noTable[name] != "" {
			continue
		}
		for _, form := range []string{"json", "csv"} {
			if !slices.Contains(flags, form) {
				t.Errorf("shop %s has no --%s", name, form)
			}
		}
		if !slices.ContainsFunc(slices.Collect(maps.Keys(listLines)), func(l string) bool { return strings.HasPrefix(l+" ", name+" ") }) && !rowsElsewhere[name] {
			t.Errorf("no test gives shop %s --csv", name)
		}
	}
	for name := range noTable {
		if all[name] == nil {
			t.Errorf("there is no command %s", name)
		}
	}
}

// rowsElsewhere are commands whose rows other tests read: those of the books, and of storage.
var rowsElsewhere = map[string]bool{"cost balance-sheet": true, "cost cash": true, "cost earnings": true, "cost event": true, "cost list": true, "cost month list": true,
	"cost plan": true, "cost profit-and-loss": true, "cost rework": true, "cost show": true, "cost trial-balance": true, "cost what-if": true, "cost wip": true,
	"storage emissions": true, "storage waste": true, "plan check": true}

// listLines are command lines, and some of the headings that their tables have.
var listLines = map[string]string{
	"air now booth": "reading.celsius fit_for_coating", "air readings booth": "zone read_time celsius", "air zones": "name display_name kind",
	"batch list": "name state", "batch ready": "stage_kind stages",
	"board": "piece_tag state next promise_time value value.currency", "clock list": "person start_time end_time", "clock review list": "name kind",
	"channel list": "display_name fees.percent fees.fixed retired", "channel show Fair": "display_name fees.most",
	"tax list": "display_name is_default rates", "tax report 2026-03-01 2026-03-31": "place percent gross_sales net_tax", "pay show 1": "amount method rounding", "pay due": "tag sale.due",
	"hold list": "tag state buyer until_time deposits", "deposit list": "tag from amount left state", "offer list": "tag buyer price counter_price state",
	"listing feed": "tag title text asking_price channels photos", "listing plan show 1": "date asking_price state", "listing text 1": "text facts",
	"cost accounts": "account title", "cost burden list": "effective_date", "cost dead": "name producer first_time", "cost overhead actual list": "amount amount.currency",
	"cost overhead estimate rent=24000 --hours 6240h": "what amount hours per_hour", "cost overhead list": "effective_date", "cost payroll show 2026-03-16": "person_name",
	"cost rates": "effective_date", "cost rule list": "effective_date", "cost shop": "account balance balance.currency", "cost standard list": "effective_date",
	"floor-plan show": "piece_tag person_name start_time end_time", "floor-plan propose": "piece_tag person_name start_time end_time", "promise suggest --route painted": "chance promise_time", "what-if --away Nell=2026-03-02": "before.chance after.piece_tag after.end_time",
	"client list": "number details.display_name", "client show 1": "number details.phone", "commission list": "number client_name state", "commission show 3": "number invoice.total",
	"commission suggest --piece 1": "what price price.currency labour.hours_likely",
	"dry list":                     "piece_tag ready.likely_time", "equipment hours 1": "display_name used.seconds cost", "equipment list": "equipment.display_name total.seconds", "equipment services Turbine": "service_time",
	"hours": "person_name labour_time.seconds", "inspect kinds": "kind", "inspect list": "piece_tag", "inspect report": "defect_kind defects", "mix list": "name", "mix recipe list": "name parts",
	"mix recipe show 'Wash coat'": "name", "mix show 12": "name", "outside list": "piece_tag firm", "person list": "display_name skills", "person show Nell": "display_name skills",
	"photo list 1": "piece_tag number moment note",
	"piece list":   "tag title purchase.price purchase.price.currency", "cost sources": "title bought sold per_hour_pooled", "piece assessment 1": "part_label seen.material veneer_floor.sandable etag", "piece lot list": "source terms", "piece lot show 12": "terms", "piece show 1": "tag title parts",
	"prospect advise --kind dresser --size medium --material veneer --look paint --asking 60": "verdict most_to_pay most_to_pay.currency chance_at_asking hours.likely",
	"prospect list": "number sighting.kind advice.most_to_pay state", "prospect show 7": "number sighting.kind advice.most_to_pay", "sale advise 1": "kind expected expected.currency days sold",
	"plan show 1": "key kind product_name", "product show 'Clear coat'": "display_name on_hand.unit", "route list": "name", "rule explain bleed-through": "name why", "rule list": "name says",
	"sale list": "piece state", "session list": "person_name device use_time", "token list": "label role methods expire_time", "sale show 1": "price", "sale show-set sets/s": "sale.price", "stage list 1": "name key kind state", "stage next Nell": "piece_tag", "station list": "display_name kind",
	"stock alerts": "kind text raise_time", "stock history 'Clear coat'": "time", "stock issues": "quantity quantity.unit cost", "stock list": "display_name on_hand on_hand.unit",
	"stock list --lots": "name left", "stock list --expiring 30": "product_name left", "stock lots 'Clear coat'": "name left", "stock needs": "product_name", "stock orders list": "supplier",
	"stock orders propose": "supplier lines", "stock orders show 12": "product ordered ordered.unit", "stock restock advice": "product_name", "stock show 'Clear coat'": "display_name",
	"stock usage": "product_name", "stock usage 'Clear coat' --stages": "stage", "storage flammables": "limits", "storage oily show": "stage_kind", "storage place list": "display_name",
	"supplier list": "display_name", "supplier offer list": "product", "supplier show Acme": "display_name", "comeback list": "name piece_tag faults", "comeback show 1": "name piece_tag", "comeback evidence 1": "stage_title product_name", "comeback mendings": "fault stage_kinds", "comeback sources": "title exposed rate_low",
	"swap list Nell": "name state person_name offered.title", "test list 1": "part", "timeline 1": "time text",
}

// Every table is read back as a program does, with a field for each heading.
func TestCSV_OfEveryList(t *testing.T) {
	t.Parallel()
	f := withAll(t)
	for args, headings := range listLines {
		code, out, errs := f.run(t, append(line(args), "--csv")...)
		if code != 0 {
			t.Errorf("shop %s --csv exits %d: %s", args, code, errs)
			continue
		}
		rows := rowsOf(t, out) // every line has as many fields as the first, or it cannot be read
		for _, field := range slices.Concat(rows[1:]...) {
			if field != "" && strings.ContainsRune("=+-@", rune(field[0])) && field != protocsv.Free(field) {
				t.Errorf("shop %s --csv has the formula %q", args, field)
			}
		}
		for _, heading := range strings.Fields(headings) {
			if !slices.Contains(rows[0], heading) {
				t.Errorf("shop %s --csv has no %s in %q", args, heading, rows[0])
			}
		}
	}
	if code, _, errs := f.run(t, line("piece list --csv --json")...); code != 2 || !strings.Contains(errs, "say one of them") {
		t.Errorf("shop piece list --csv --json exits %d: %s", code, errs)
	}
}
