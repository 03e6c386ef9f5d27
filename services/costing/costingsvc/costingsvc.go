// Package costingsvc wires the costing service together: the only part of it that others
// may import.
package costingsvc

import (
	"context"
	"fmt"
	"os"

	"tackfree/pkg/boot"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/costing/internal/books"
	"tackfree/services/costing/internal/consume"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/server"
	"tackfree/services/costing/internal/store"
	"tackfree/services/costing/internal/watch"
)

// Name is the service's name: its schema, its role and its consumer.
const Name = "costing"

// Run serves until ctx ends.
func Run(ctx context.Context, c boot.Config, d boot.Deps) error {
	text, rules, err := accountRules(c.AccountRules)
	if err != nil {
		return err
	}
	s, err := boot.Open(ctx, Name, c, d, boot.Parts{Migrations: store.Migrations, Consumer: true, Long: server.Long})
	if err != nil {
		return err
	}
	rules = rules.In(s.Shop.Zone)
	producers := map[string]eventsv1.EventLogServiceClient{}
	for _, name := range []string{"intake", "workflow", "materials", "sales"} {
		peer, err := s.Peer(name)
		if err != nil {
			return err
		}
		producers[name] = eventsv1.NewEventLogServiceClient(peer)
	}
	workflow, err := s.Peer("workflow")
	if err != nil {
		return err
	}
	hub := watch.NewHub()
	keeper := &books.Keeper{Config: s.Pool, Rules: rules, Currency: s.Shop.Currency, MadeBy: books.MadeBy(text), DB: s.DB, Producers: producers}
	handler := consume.Handler{Shop: s.Shop, Rules: rules, Rebuild: func(ctx context.Context) error { _, err := keeper.Rebuild(ctx); return err }}
	keeper.Handler = func(later *costing.Unsettled) inbox.Handler {
		h := handler
		h.Later = later
		return h
	}
	live := handler
	live.Changed = hub.Tell
	keeper.Inbox = inbox.New(s.DB, Name, producers, live, c.Reconcile, s.Logger)
	srv := &server.Server{DB: s.DB, Shop: s.Shop, People: workflowv1.NewPeopleServiceClient(workflow),
		Inbox: keeper.Inbox, Keeper: keeper, Hub: hub, Stop: ctx.Done()}
	srv.Register(s.GRPC)
	if err := keeper.Fits(ctx); err != nil {
		return err
	}
	if d.RulesTaken != nil {
		if err := d.RulesTaken(); err != nil {
			return err
		}
	}
	outdated, err := keeper.Outdated(ctx)
	if err != nil {
		return err
	}
	if outdated {
		s.Go(func(ctx context.Context) { keeper.Renew(ctx, s.Logger) })
	}
	s.Follow(keeper.Inbox, "tackfree.v1.>")
	return s.Run(ctx)
}

// AccountRules reads a file of account rules, or those that come with the program, for whoever starts the
// service with others. It refuses those with which the service would not start, and says how books are marked
// that are made by them.
func AccountRules(file boot.RulesFile) (text []byte, madeBy string, err error) {
	text, _, err = accountRules(file)
	return text, books.MadeBy(text), err
}

// accountRules reads the shop's own account rules, or those that come with the program.
func accountRules(file boot.RulesFile) (text []byte, rules *costing.Rules, err error) {
	if file == "" || file == boot.ProgramRules {
		return costing.StandardText(), costing.Standard(), nil
	}
	if text, err = os.ReadFile(string(file)); err != nil {
		return nil, nil, fmt.Errorf("account rules: %w", err)
	}
	if rules, err = costing.ReadRules(text); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", file, err)
	}
	return text, rules, nil
}
