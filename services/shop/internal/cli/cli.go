// Package cli is the command `shop`: it runs a shop in one process, and is a client of a
// running one.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"os/user"
	"syscall"

	"github.com/alecthomas/kong"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
)

// CLI is the command line.
type CLI struct {
	LogLevel slog.Level `help:"Say more or less on standard error: debug, info, warn, error." default:"warn" env:"TACKFREE_LOG_LEVEL"`
	As       string     `help:"Who gives the commands; what is written down names them." placeholder:"NAME" env:"TACKFREE_ACTOR"`
	Color    string     `help:"When states are coloured: auto (on a terminal, unless NO_COLOR is set), always or never." enum:"auto,always,never" default:"auto"`
	Reach    reach      `embed:""`

	Demo       demoCmd        `cmd:"" help:"Play an invented shop and print what each piece earned."`
	Up         upCmd          `cmd:"" help:"Run a shop for real use; everything is kept in one folder."`
	Piece      pieceCmd       `cmd:"" help:"Pieces: what comes in and what is given up."`
	Prospect   prospectCmd    `cmd:"" help:"Pieces that might be bought: what to pay for them, and what became of them."`
	Print      printCmd       `cmd:"" help:"Paper as PDF: tags, labels, estimates, change orders, invoices."`
	Letterhead letterheadCmd  `cmd:"" help:"What stands at the head of the shop's letters."`
	Client     clientCmd      `cmd:"" help:"Clients: whose pieces are refinished, and how they are reached."`
	Commission commissionCmd  `cmd:"" help:"What clients order: estimates, change orders, what is owed."`
	Photo      photoCmd       `cmd:"" help:"Photos of pieces: added, looked at, described, taken away."`
	Person     personCmd      `cmd:"" help:"People who do the work."`
	Route      routeCmd       `cmd:"" help:"Named orders of steps."`
	Station    stationCmd     `cmd:"" help:"Where work is done and pieces stand."`
	Stage      stageCmd       `cmd:"" help:"The stages of a piece, and who has them."`
	Swap       swapCmd        `cmd:"" help:"Helpers ask each other to take stages, and accept or decline."`
	Batch      batchCmd       `cmd:"" help:"Stages of several pieces that are run as one."`
	Plan       planGroupCmd   `cmd:"" help:"The finish plan of a piece: made, checked, approved, amended; or a file of operations, planned."`
	Rule       ruleCmd        `cmd:"" help:"The rules that make or break a finish."`
	Air        airCmd         `cmd:"" help:"What the air is like where pieces stand."`
	Dry        dryingCmd      `cmd:"" help:"What dries, and when it will be ready."`
	Clock      clockCmd       `cmd:"" help:"Who works on what, from when to when. On the shop's own machine whoever gives a command can give it for anybody, and it is kept under the name of --as."`
	Inspect    inspectCmd     `cmd:"" help:"What inspections found, and what has to be done again."`
	Comeback   comebackCmd    `cmd:"" help:"What came back with a fault after it was sold, and where the fault is from."`
	Outside    outsideCmd     `cmd:"" help:"Work that others do: upholstery, caning, stone, mirror."`
	Board      boardCmd       `cmd:"" help:"Show each piece on the floor, what is next with it and where it stands."`
	Day        dayCmd         `cmd:"" help:"Show somebody's day: what they did, what is theirs, what they could do next."`
	FloorPlan  floorPlanGroup `cmd:"" help:"Say who does what, where and when, as far as can be told now, and what becomes of promises; look for a better plan, and have people know it."`
	Promise    promiseGroup   `cmd:"" help:"By when something could be promised."`
	WhatIf     floorWhatIfCmd `cmd:"" help:"Say what becomes of pieces if somebody is away, something is promised, or a piece comes in; changes nothing."`
	Watch      watchCmd       `cmd:"" help:"Show the floor as it is now, or with --lines tell what happens on it, until Ctrl-C."`
	Timeline   timelineCmd    `cmd:"" help:"Tell what happened to a piece on the floor."`
	Hours      hoursCmd       `cmd:"" help:"Sum up hands-on time by person, piece, stage or week."`
	Test       testCmd        `cmd:"" help:"What was measured and tried on a piece and its parts."`
	Stock      stockCmd       `cmd:"" help:"Materials and where they went."`
	Product    productCmd     `cmd:"" help:"What products are: described, renamed, packed."`
	Supplier   supplierCmd    `cmd:"" help:"Whom the shop buys from, and what they ask."`
	Mix        mixCmd         `cmd:"" help:"What is mixed of several products, so that a colour can be made again."`
	Storage    storageCmd     `cmd:"" help:"Where stock stands and what that asks for: flammable liquids, solvent in the air, waste, oily rags."`
	Equipment  equipmentCmd   `cmd:"" help:"What runs while stages are done, and when it is due for service."`
	Sale       saleCmd        `cmd:"" help:"Listing, selling, giving money back; what to ask."`
	Listing    listingCmd     `cmd:"" help:"What stands for sale, and when less is asked."`
	Tax        taxCmd         `cmd:"" help:"Sales tax, place by place, and what is to be remitted."`
	Pay        payCmd         `cmd:"" help:"What buyers paid of sales, and what they owe."`
	Offer      offerGroup     `cmd:"" help:"What buyers offer for listed pieces, and what the shop answers."`
	Hold       holdGroup      `cmd:"" help:"Pieces that are kept for a buyer until a time."`
	Deposit    depositGroup   `cmd:"" help:"Money that is given before a sale: taken, given back, kept."`
	Channel    channelCmd     `cmd:"" help:"Where pieces are offered, and what that keeps."`
	Cost       costCmd        `cmd:"" help:"What pieces cost and earn, and whether the books are right."`
	Verify     verifyCmd      `cmd:"" help:"The same as cost verify."`
	Calc       calcCmd        `cmd:"" help:"The arithmetic of air, wood and films; needs no shop."`
	PlanFinish planFinishCmd  `cmd:"" help:"Plan the finish of a piece from a file; needs no shop."`
	Bench      benchCmd       `cmd:"" help:"Measure this machine's shop beside a baseline of the same minute."`
	Owner      ownerCmd       `cmd:"" help:"Who owns the shop: the first owner, and the way back for one who is locked out."`
	Session    sessionCmd     `cmd:"" help:"The devices on which people have signed in."`
	Token      tokenCmd       `cmd:"" help:"The programs that are let in."`
	Provision  provisionCmd   `cmd:"" help:"Make the services' roles and schemas in a Postgres of your own."`
	Restored   restoredCmd    `cmd:"" help:"Tell the services that their database was set back to a backup, before they start again."`
	Health     healthCmd      `cmd:"" help:"Ask whether a service is serving; exits 1 if it is not."`
	Completion completionCmd  `cmd:"" help:"Print a script by which a shell completes what is typed: bash, zsh or fish."`
	Complete   completeCmd    `cmd:"" hidden:"" help:"Say what the last of some words could become, for the scripts of completion."`
}

// env is what commands are run with.
type env struct {
	ctx    context.Context
	out    io.Writer
	errs   io.Writer
	logger *slog.Logger
	reach  reach
	paint  paint
	shown  *progress // nil: none
}

// Main runs the command line and returns the exit code.
func Main(args []string) int {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	return Run(ctx, args, os.Stdout, os.Stderr)
}

// Run runs the command line with its own streams.
func Run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	var c CLI
	exit := -1
	parser, err := newParser(&c, stdout, stderr, func(code int) { exit = code })
	if err != nil {
		fmt.Fprintln(stderr, "shop:", err)
		return exitTyped
	}
	k, err := parser.Parse(args)
	if exit >= 0 { // help was asked for
		return exit
	}
	if err != nil {
		fmt.Fprintf(stderr, "shop: %v\n%s\n", err, helpWith(err))
		return exitTyped
	}
	e := &env{ctx: caller.With(ctx, caller.Caller{Actor: c.actor()}), out: stdout, errs: stderr, reach: c.Reach, paint: paint(coloured(c.Color, stdout)),
		logger: slog.New(hush{slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: c.LogLevel}), ctx})}
	err = k.Run(e)
	e.shown.end()
	line, unsure := doubt(k, args, err)
	switch {
	case err == nil:
	case unsure:
		explainDoubt(stderr, err, line)
	case ctx.Err() != nil:
		fmt.Fprintln(stderr, "shop: stopped.")
	default:
		explain(stderr, err)
	}
	return codeOf(err, unsure)
}

// newParser reads command lines into c; exit is called where help was asked for.
func newParser(c *CLI, stdout, stderr io.Writer, exit func(int)) (*kong.Kong, error) {
	return kong.New(c, kong.Name("shop"), lengths, kong.Writers(stdout, stderr), kong.Exit(exit),
		kong.Description("What a furniture refinishing shop buys, does, spends and earns."), kong.Help(printHelp),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true, WrapUpperBound: lineWidth}))
}

// actor is who gives the commands: the one named, or whoever is logged in.
func (c CLI) actor() string {
	if c.As != "" {
		return c.As
	}
	if u, err := user.Current(); err == nil && u.Username != "" {
		return u.Username
	}
	return "somebody"
}

// explain prints an error as a sentence; a fault's own, without its wrappings.
func explain(w io.Writer, err error) {
	done := ""
	if errors.As(err, new(unshown)) {
		done = "this is done, and only its answer cannot be shown: "
	}
	f := fault.Of(err)
	switch {
	case f != nil:
		fmt.Fprintf(w, "shop: %s%s (%s)\n", done, f.Text, f.Reason)
	case errors.Is(err, context.DeadlineExceeded):
		fmt.Fprintf(w, "shop: %sthe shop did not answer in time; ask again\n", done)
	default:
		fmt.Fprintf(w, "shop: %s%v\n", done, err)
	}
}

// helpWith says which help has what was typed wrong: that of the command, as far as there
// is one of that name.
func helpWith(err error) string {
	line, says := "shop", "lists the commands"
	var pe *kong.ParseError
	if errors.As(err, &pe) {
		for _, p := range pe.Context.Path {
			if p.Command == nil {
				continue
			}
			line += " " + p.Command.Name
			if p.Command.Leaf() {
				says = "says how it is typed"
			}
		}
	}
	return fmt.Sprintf("`%s --help` %s.", line, says)
}
