package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

// helpGroups are the commands of the first level by what a person wants, in the order of a shop's day.
var helpGroups = []struct {
	title    string
	commands []string
}{
	{"The floor, now", []string{"board", "watch", "floor-plan", "what-if", "promise", "day", "clock", "stage", "swap", "batch", "dry", "air", "inspect", "comeback", "outside"}},
	{"Pieces and their plans", []string{"prospect", "piece", "client", "commission", "photo", "print", "letterhead", "plan", "route", "rule", "test", "timeline"}},
	{"People and where they work", []string{"person", "station", "hours"}},
	{"Materials and equipment", []string{"stock", "product", "supplier", "mix", "storage", "equipment"}},
	{"Selling and money", []string{"sale", "listing", "offer", "hold", "deposit", "channel", "tax", "pay", "cost", "verify"}},
	{"Trying and reckoning, without a shop", []string{"demo", "calc", "plan-finish", "bench"}},
	{"Opening a shop and keeping it", []string{"up", "owner", "session", "token", "provision", "restored", "health", "completion"}},
}

// printHelp is the help of kong, in which a list of commands has one sentence for each; that of the whole
// command line has its commands by what somebody wants.
func printHelp(o kong.HelpOptions, k *kong.Context) error {
	if k.Selected() == nil {
		return printRootHelp(o, k)
	}
	for _, c := range k.Selected().Children {
		c.Help = firstSentence(c.Help)
	}
	return kong.DefaultHelpPrinter(o, k)
}

func printRootHelp(o kong.HelpOptions, k *kong.Context) error {
	w := k.Stdout
	fmt.Fprintf(w, "Usage: shop <command> [flags]\n\n%s\n", k.Model.Help)
	for _, group := range helpGroups {
		fmt.Fprintf(w, "\n%s\n", group.title)
		for _, name := range group.commands {
			if c := childOf(k.Model.Node, name); c != nil {
				fmt.Fprintf(w, "  %-12s %s\n", name, wrapped(firstSentence(c.Help), strings.Repeat(" ", 15)))
			}
		}
	}
	fmt.Fprint(w, "\nFor example:\n  shop clock on Nell 12 \"sand (top)\"    Nell begins to sand the top of piece 12.\n"+
		"  shop piece list --csv > pieces.csv    Whatever lists something has --json and --csv.\n\n")
	writeExitCodes(w)
	fmt.Fprintln(w)
	return printFlags(o, k, w)
}

// printFlags prints the flags that every command has, as kong does, and where to read on.
func printFlags(o kong.HelpOptions, k *kong.Context, w io.Writer) error {
	k.Model.Children = nil // they are shown already
	var all strings.Builder
	k.Stdout = &all
	err := kong.DefaultHelpPrinter(o, k)
	_, flags, _ := strings.Cut(all.String(), "Flags:\n")
	_, _ = fmt.Fprintf(w, "Flags:\n%s\n\nshop <command> --help says more; so does shop <command> <command> --help.\n", strings.TrimRight(flags, "\n"))
	return err
}

// firstSentence is the beginning of a help text, up to its first full stop or semicolon, or to what begins with one.
func firstSentence(text string) string {
	for _, end := range []string{". ", "; "} {
		text, _, _ = strings.Cut(text, end)
	}
	text = strings.TrimSpace(strings.TrimSuffix(text, "."))
	if text == "" {
		return ""
	}
	return text + "."
}
