package cli

import (
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"tackfree/services/shop/internal/client"
)

// leaves are all commands of the command line.
func leaves(t *testing.T) map[string]*kong.Node {
	t.Helper()
	parser, err := kong.New(&CLI{}, kong.Name("shop"), kong.Writers(io.Discard, io.Discard))
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]*kong.Node{}
	for _, n := range parser.Model.Leaves(false) {
		all[strings.TrimPrefix(n.FullPath(), "shop ")] = n
	}
	return all
}

func flagsOf(n *kong.Node) (names []string) {
	for _, f := range n.Flags {
		names = append(names, f.Name)
	}
	return names
}

// --at is where the contract has a time of the happening, and nowhere else: a flag that is
// taken and means nothing would put hours on the wrong day.
func TestFlags_AtIsWhereThereIsATime(t *testing.T) {
	t.Parallel()
	timed := []string{"photo add", "prospect add", "prospect buy", "prospect decline", "commission estimate", "commission revise", "commission approve", "commission decline", "commission cancel",
		"commission change add", "commission change approve", "commission change decline", "piece take-in", "piece take-in-lot", "piece lot split", "piece fix-price", "piece scrap", "piece assess", "stage plan", "stage assign", "stage finish", "stage send-back", "stage hand-over", "stage pin", "station move",
		"clock on", "clock off", "clock switch", "clock pause", "clock resume", "inspect pass", "inspect fail", "outside send", "outside chase", "outside back", "batch finish", "comeback open", "comeback close", "test lead", "test moisture", "test spot", "air read", "dry move",
		"stock receive", "stock issue", "stock take-back",
		"stock return", "stock waste", "stock count", "stock open", "stock move", "stock close", "stock orders place", "mix make", "mix like",
		"storage oily confirm", "equipment service", "listing withdraw", "listing channels", "sale offer", "sale price", "sale sell", "sale sell-set", "sale refund", "offer note", "deposit take", "deposit return", "deposit keep", "pay record", "pay void", "cost trial-balance", "cost balance-sheet"}
	for name, n := range leaves(t) {
		if got, want := slices.Contains(flagsOf(n), "at"), slices.Contains(timed, name); got != want {
			t.Errorf("shop %s has --at: %t, want %t", name, got, want)
		}
	}
	f := newFake(t)
	for _, text := range []string{"person add Ruth", "cost rate Nell --per-hour 20 --from 2026-01-01", "clock correct 1 --reason x",
		"stock add Wax --unit g", "stock threshold Wax"} {
		f.refuses(t, append(line(text), "--at=2026-03-02 08:00"), "unknown flag --at")
	}
}

// Whatever is asked or told of stock is answered to programs too.
func TestFlags_StockAnswersAsJSON(t *testing.T) {
	t.Parallel()
	for name, n := range leaves(t) {
		group, _, _ := strings.Cut(name, " ")
		if slices.Contains([]string{"stock", "product", "supplier", "mix", "storage", "equipment"}, group) && !slices.Contains(flagsOf(n), "json") {
			t.Errorf("shop %s has no --json", name)
		}
	}
}

// What a person types is one value, with its commas.
func TestFlags_CommasStay(t *testing.T) {
	t.Parallel()
	for name, n := range leaves(t) {
		for _, f := range n.Flags {
			if f.IsSlice() && f.Tag.Sep != -1 || f.IsMap() {
				t.Errorf("--%s of shop %s is split at %q", f.Name, name, string(f.Tag.Sep))
			}
		}
	}
}

// What the clock does not ask, and where a correction of a closed week goes, whoever leads reads where
// they look for how it is typed.
func TestHelp_ClockSaysItsLimits(t *testing.T) {
	t.Parallel()
	for _, c := range [][2]string{{"clock", "On the shop's own machine whoever gives a command can give it for anybody"}, {"clock correct", "whose payroll is closed the difference counts in the next one"}} {
		_, out, _ := run(t, append(strings.Fields(c[0]), "--help")...)
		if text := strings.Join(strings.Fields(out), " "); !strings.Contains(text, c[1]) {
			t.Errorf("shop %s --help does not say %q:\n%s", c[0], c[1], out)
		}
	}
}

// Whoever runs the services by themselves must find out how to reach them.
func TestHelp_NamesTheAddresses(t *testing.T) {
	t.Parallel()
	code, out, _ := run(t, "--help")
	if code != 0 || !strings.Contains(out, "Services that run by themselves\n") {
		t.Errorf("shop --help exits %d and has no group for the services:\n%s", code, out)
	}
	for _, name := range client.Names {
		if !strings.Contains(out, "--"+name+"-addr=ADDRESS") || !strings.Contains(out, "TACKFREE_"+strings.ToUpper(name)+"_ADDR") {
			t.Errorf("shop --help does not say how to reach %s", name)
		}
	}
}

// Who typed a command wrong is sent to its own help.
func TestUsage_NamesTheHelp(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"piece take-in Stool":            "missing flags: --kind=STRING\n`shop piece take-in --help` says how it is typed.\n",
		"piece take-in Stool --colour 3": "`shop piece take-in --help` says how it is typed.\n",
		"sale refund":                    "`shop sale refund --help` says how it is typed.\n",
		"stage assign 1 sand Nell Ruth":  "`shop stage assign --help` says how it is typed.\n",
		"piece polish 1":                 "`shop piece --help` lists the commands.\n",
		"piece":                          "`shop piece --help` lists the commands.\n",
		"polish 1":                       "`shop --help` lists the commands.\n",
		"--colour":                       "`shop --help` lists the commands.\n",
	} {
		if code, out, errs := run(t, line(text)...); code != 2 || out != "" || !strings.HasSuffix(errs, want) {
			t.Errorf("shop %s exits %d and prints %q and %q, want %q", text, code, out, errs, want)
		}
	}
}

// Help is printed with quotes that can be typed: two single ones would come out as one
// that cannot.
func TestHelp_CanBeTyped(t *testing.T) {
	t.Parallel()
	for name := range leaves(t) {
		if code, out, _ := run(t, append(line(name), "--help")...); code != 0 || strings.ContainsAny(out, "“”‘’") {
			t.Errorf("shop %s --help exits %d and prints:\n%s", name, code, out)
		}
	}
}
