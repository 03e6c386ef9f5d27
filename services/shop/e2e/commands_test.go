package e2e_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"tackfree/services/shop/internal/cli"
)

// A day in the shop by hand, on the command line: from an empty shop to what an hour
// earned.
func TestCommands_ADayByHand(t *testing.T) {
	s := open(t, nil)
	dir := s.Dir()
	say := func(want string, args ...string) string {
		t.Helper()
		out := shop(t, dir, args...)
		if !strings.Contains(out, want) {
			t.Errorf("shop %s prints:\n%s\nwhich does not say %q", strings.Join(args, " "), out, want)
		}
		return out
	}
	say("is in the shop", "person", "add", "Nell", "--skill", "sand", "--skill", "spray", "--skill", "finish", "--skill", "inspect")
	say("An hour of Nell costs 20.00", "cost", "rate", "Nell", "--per-hour", "20", "--from", "2026-01-01")
	say("8 steps", "route", "save", "../../../testdata/demo/routes/painted.json")
	say("painted", "route", "list")
	say("Piece 1 is taken in", "piece", "take-in", "Pine dresser", "--kind", "dresser", "--price", "40", "--source", "kerb",
		"--part", "case:1:42inx18in", "--at", "2026-03-02 07:30")
	say("scuff-sand (case)", "stage", "plan", "1", "--route", "painted")
	say("free", "test", "lead", "1", "free", "--at", "2026-03-02 07:40")
	say("probably shellac", "test", "spot", "1", "--part", "case", "denatured alcohol", "softens")
	say("10.5 %, dry", "test", "moisture", "1", "--part", "case", "10.5")
	say("denatured alcohol: softens", "test", "list", "1")
	say("Clear coat", "stock", "add", "Clear coat", "--unit", "L", "--package", "quart can=1qt", "--restock-below", "0.9L")
	say("30.48 µm", "stock", "sheet", "Clear coat", "--family", "water-borne polyurethane", "--carrier", "water", "--solids", "33", "--film", "1.2mil",
		"--recoat", "2h", "--cure", "7d")
	say("water-borne polyurethane", "stock", "show", "Clear coat")
	say("no coating sheet", "stock", "sheet", "Clear coat", "--none")
	say("0.9464 L", "stock", "receive", "Clear coat", "--package", "quart can", "--cost", "36.00", "--supplier", "Harbor")
	say("Nell", "stage", "assign", "1", "hardware-off", "Nell")
	say("on the clock at hardware-off", "clock", "on", "Nell", "1", "hardware-off", "--at", "2026-03-02 08:00")
	say("off the clock after 0:30", "clock", "off", "Nell", "--at", "2026-03-02 08:30")
	say("finished", "stage", "finish", "1", "hardware-off")
	say("ready", "stage", "list", "1")
	say("went to topcoat (case) for 3.80; 0.8464 L left", "stock", "issue", "Clear coat", "100mL", "1", "topcoat")
	say("low", "stock", "list")
	say("0.8464 L", "stock", "lots", "Clear coat")
	correctFirst(t, dir)
	say("no longer counts", "clock", "list", "--who", "Nell")
	say("listed", "sale", "offer", "1", "190", "--channel", "online market")
	say("175.00", "sale", "price", "1", "175", "--reason", "slow week")
	say("sold", "sale", "sell", "1", "175", "--tax", "14.44", "--fee", "17.50", "--buyer", "R. Okafor")
	say("R. Okafor", "sale", "show", "1")
	say("10.00", "sale", "refund", "1", "10", "--reason", "a scratch")
	eventually(t, "all of it in the books", func() bool { return strings.Contains(shop(t, dir, "cost", "show", "1"), "165.00") })
	// 165.00 − 17.50 − 40.00 − 6.67 (20 minutes) − 3.80 = 97.03; by the hour 291.09.
	say("97.03", "cost", "show", "1")
	say("291.09", "cost", "list")
	say("0 differences", "cost", "verify")
	say("differed in 0 places", "cost", "rebuild")
	say("0 could not be booked", "cost", "progress")
	say("letter", "cost", "dead")
	say("20.00", "cost", "rates")
	say("Piece 2", "piece", "take-in", "Stool", "--kind", "stool", "--client", "L. Brandt", "--part", "seat")
	say("scrapped", "piece", "scrap", "2", "--reason", "split")
	say("commission of L. Brandt", "piece", "list")
	say("case", "piece", "show", "1")
	say("0.5 L", "stock", "threshold", "Clear coat", "0.5L")
}

// correctFirst shortens the only clock entry to twenty minutes, found through --json.
func correctFirst(t *testing.T, dir string) {
	t.Helper()
	var list struct {
		ClockEntries []struct{ Name string }
	}
	if err := json.Unmarshal([]byte(shop(t, dir, "clock", "list", "--json")), &list); err != nil || len(list.ClockEntries) != 1 {
		t.Fatalf("clock list --json = %v, %v", list, err)
	}
	out := shop(t, dir, "clock", "correct", list.ClockEntries[0].Name, "--end", "2026-03-02 08:20", "--reason", "fetched the mail")
	if !strings.Contains(out, "fetched the mail") {
		t.Errorf("clock correct prints:\n%s", out)
	}
}

func TestCommands_RefusalIsASentence(t *testing.T) {
	s := open(t, nil)
	cases := map[string][]string{
		"There is no piece 7":           {"piece", "show", "7"},
		"nobody called \"Nell\"":        {"clock", "off", "Nell"},
		"is not an amount of USD":       {"piece", "take-in", "Stool", "--kind", "stool", "--price", "cheap", "--source", "kerb", "--part", "seat"},
		"is not a time such as":         {"piece", "take-in", "Stool", "--kind", "stool", "--client", "B", "--part", "seat", "--at", "noon"},
		"`shop piece --help` lists":     {"piece", "polish"},
		"which has not come yet":        {"piece", "take-in", "Stool", "--kind", "stool", "--client", "B", "--part", "seat", "--at", "2999-01-01 08:00"},
		"count of parts, number 1,":     {"piece", "take-in", "Stool", "--kind", "stool", "--client", "B", "--part", "seat:999"},
		"--price and --client can't be": {"piece", "take-in", "Stool", "--kind", "stool", "--client", "B", "--price", "3", "--part", "seat"},
	}
	for want, args := range cases {
		var out, errs bytes.Buffer
		code := cli.Run(t.Context(), append([]string{"--shop", s.Dir(), "--as", "Odile"}, args...), &out, &errs)
		if code == 0 || !strings.Contains(errs.String(), want) {
			t.Errorf("shop %s exits %d: %s\nwhich does not say %q", strings.Join(args, " "), code, errs.String(), want)
		}
	}
}

func TestCommands_NoShopRuns(t *testing.T) {
	var out, errs bytes.Buffer
	code := cli.Run(t.Context(), []string{"--shop", t.TempDir(), "piece", "list"}, &out, &errs)
	if code != 3 || !strings.Contains(errs.String(), "shop up --data") {
		t.Errorf("without a shop: exit %d, %s", code, errs.String())
	}
}
