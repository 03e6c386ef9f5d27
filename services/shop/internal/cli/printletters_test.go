package cli

import (
	"path/filepath"
	"strings"
	"testing"

	intakev1 "tackfree/proto/tackfree/intake/v1"
)

func TestLetterhead(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("letterhead"), "Reedmere Refinishing", "14 Mill Lane", "printed on a4")
	// What no flag names stays.
	f.gives(t, line("letterhead --phone '555 0100' --paper letter"), &intakev1.SetLetterheadRequest{Etag: `"2"`,
		Letterhead: &intakev1.Letterhead{ShopName: "Reedmere Refinishing", Address: []string{"14 Mill Lane"}, Phone: "555 0100", Paper: intakev1.Letterhead_PAPER_LETTER, Etag: `"2"`}})
	f.gives(t, line("letterhead --name Reedmere --address '2 Quay' --address Barton --email a@b --web b.example --tax 'VAT 1' --closing 'Thank you.'"), &intakev1.SetLetterheadRequest{Etag: `"2"`,
		Letterhead: &intakev1.Letterhead{ShopName: "Reedmere", Address: []string{"2 Quay", "Barton"}, Email: "a@b", Web: "b.example", TaxNumber: "VAT 1", Closing: "Thank you.", Paper: intakev1.Letterhead_PAPER_A4, Etag: `"2"`}})
	f.counter.letterhead = &intakev1.Letterhead{}
	f.says(t, line("letterhead"), "Nobody has said yet")
}

func TestCommission_FinishAndPreview(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("commission finish 3 --reason 'paid in kind'"), &intakev1.FinishCommissionRequest{Commission: "commissions/c", Reason: "paid in kind"})
	f.says(t, line("commission finish 3"), "Commission 3 is finished: invoiced.")
	f.says(t, line("commission cancel 3 --preview --deposit-paid 427.34"), "442.10", "still owes 14.76")
}

// letter prints one, and gives what another program reads in it.
func (f *fake) letter(t *testing.T, words, says string) (height float64, text string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "letter.pdf")
	f.says(t, append(line(words), "--out="+file), says+" is in "+file)
	height, pages := printedIn(t, file)
	return height, strings.Join(pages, "")
}

func TestPrint_Letters(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.counter.commissions[0].Estimates = append([]*intakev1.Estimate{{Version: 1}}, f.counter.commissions[0].Estimates...)
	f.counter.commissions[0].ApprovedVersion, f.counter.commissions[0].Settlement = 2, nil
	for words, want := range map[string]struct {
		title string
		says  []string
	}{
		"print estimate 3 --hours":               {"Estimate 3, version 2", []string{"|Reedmere Refinishing|", "|10 h (8 to 14)|", "|837.24|", "|Ana Ruiz|", "|4 Mill Lane|"}},
		"print estimate 3 --lang es --version 2": {"Presupuesto 3, versión 2", []string{"|837,24|", "|Total|"}},
		"print change-order 3 1":                 {"Change order 1 to commission 3", []string{"worm in a leg", "|700.00|"}},
		"print invoice 3 --paid 200 --paper a4":  {"Invoice 3", []string{"|−200.00|", "|637.24|", "|To pay, in USD|"}},
		"print invoice 3 --paper letter":         {"Invoice 3", []string{"|837.24|", "|To pay, in USD|"}},
	} {
		height, text := f.letter(t, words, want.title)
		for _, s := range want.says {
			if !strings.Contains(text, s) {
				t.Errorf("%s does not say %q: %s", words, s, text)
			}
		}
		if letter := strings.Contains(words, "letter"); (height == 792) != letter {
			t.Errorf("%s is %.0f points high", words, height)
		}
	}
	out := " --out=" + filepath.Join(t.TempDir(), "x.pdf")
	f.refuses(t, line("print estimate 3 --version 9"+out), "There is no version 9 of the estimate")
	f.refuses(t, line("print estimate 3 --lang fr"+out), "Letters are written in en or es")
	f.counter.letterhead = &intakev1.Letterhead{}
	f.refuses(t, line("print invoice 3"+out), "Nobody said yet what stands at the head")
}
