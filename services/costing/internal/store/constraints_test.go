package store_test

import (
	"context"
	"errors"
	"maps"
	"slices"
	"testing"
	"time"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// past writes, for each constraint of the tables, what it refuses. There is one row at
// least in each of them.
var past = map[string][]string{
	"pay_rate_pkey":                 {`INSERT INTO pay_rate TABLE pay_rate`},
	"pay_rate_per_hour_check":       {`UPDATE pay_rate SET per_hour = -1`},
	"posting_pkey":                  {`INSERT INTO posting TABLE posting`, `UPDATE posting SET line = 1`},
	"posting_account_check":         {`UPDATE posting SET account = ''`},
	"posting_bucket_check":          {`UPDATE posting SET bucket = 'wages'`, `UPDATE posting SET bucket = 'Labour'`},
	"posting_group_is_whole":        {`UPDATE posting SET group_kind = 'place'`, `UPDATE posting SET group_id = tx_id`},
	"stage_pkey":                    {`INSERT INTO stage TABLE stage`},
	"stage_state_check":             {`UPDATE stage SET state = 'begun'`, `UPDATE stage SET state = ''`},
	"stage_held_while_done":         {`UPDATE stage SET held_ms = 0`},
	"lot_terms_pkey":                {`INSERT INTO lot_terms TABLE lot_terms`},
	"lot_terms_version_check":       {`UPDATE lot_terms SET version = 0`},
	"lot_terms_price_check":         {`UPDATE lot_terms SET price = -1`},
	"lot_share_pkey":                {`INSERT INTO lot_share TABLE lot_share`},
	"correction_pkey":               {`INSERT INTO correction TABLE correction`},
	"lot_share_weight_check":        {`UPDATE lot_share SET weight = -1`},
	"made_by_pkey":                  {`INSERT INTO made_by TABLE made_by`},
	"remade_pkey":                   {`INSERT INTO remade TABLE remade`},
	"remade_keeps_what_came_before": {`UPDATE remade SET kept = position`},
	"made_by_only_one_check":        {`UPDATE made_by SET only_one = false`},
	"stretch_pkey":                  {`INSERT INTO stretch TABLE stretch`},
	"stretch_sign_check":            {`UPDATE stretch SET sign = 0`, `UPDATE stretch SET sign = 2`, `UPDATE stretch SET sign = -2`},
	"stretch_is_on_something": {`UPDATE stretch SET piece_id = NULL`, `UPDATE stretch SET indirect = 'cleaning'`,
		`UPDATE stretch SET piece_id = NULL, indirect = 'cleaning'`},
	"stretch_whole_begins_before_share":       {`UPDATE stretch SET whole_from = started_at`},
	"clock_pkey":                              {`INSERT INTO clock TABLE clock`},
	"outside_work_pkey":                       {`INSERT INTO outside_work TABLE outside_work`},
	"review_pkey":                             {`INSERT INTO review TABLE review`},
	"tangled_week_pkey":                       {`INSERT INTO tangled_week TABLE tangled_week`},
	"tangled_week_begins_on_monday":           {`UPDATE tangled_week SET week = week + 1`},
	"pay_rule_pkey":                           {`INSERT INTO pay_rule TABLE pay_rule`},
	"pay_rule_begins_on_monday":               {`UPDATE pay_rule SET week = week + 1`},
	"pay_rule_weekly_after_ms_check":          {`UPDATE pay_rule SET weekly_after_ms = -1`},
	"pay_rule_daily_after_ms_check":           {`UPDATE pay_rule SET daily_after_ms = -1`},
	"pay_rule_overtime_percent_check":         {`UPDATE pay_rule SET overtime_percent = -1`},
	"pay_rule_paid_break_ms_check":            {`UPDATE pay_rule SET paid_break_ms = -1`},
	"pay_rule_round_to_ms_check":              {`UPDATE pay_rule SET round_to_ms = -1`},
	"overhead_rate_pkey":                      {`INSERT INTO overhead_rate TABLE overhead_rate`},
	"overhead_rate_basis_check":               {`UPDATE overhead_rate SET basis = 'labour_dollar'`},
	"overhead_rate_per_hour_check":            {`UPDATE overhead_rate SET per_hour = -1`},
	"overhead_rate_of_kinds_has_a_department": {`UPDATE overhead_rate SET department = ''`},
	"overhead_actual_pkey":                    {`INSERT INTO overhead_actual TABLE overhead_actual`},
	"overhead_actual_what_check":              {`UPDATE overhead_actual SET what = ''`},
	"overhead_actual_taken_back_once":         {`INSERT INTO overhead_actual SELECT gen_random_uuid(), day, occurred_at, what, amount, note, takes_back, reason, actor, recorded_at FROM overhead_actual WHERE takes_back IS NOT NULL`},
	"overhead_actual_takes_back_fkey":         {`UPDATE overhead_actual SET takes_back = gen_random_uuid() WHERE takes_back IS NOT NULL`},
	"overhead_actual_sign":                    {`UPDATE overhead_actual SET amount = -amount`, `UPDATE overhead_actual SET amount = 0`, `UPDATE overhead_actual SET reason = 'because' WHERE takes_back IS NULL`, `UPDATE overhead_actual SET reason = ''`},
	"month_close_pkey":                        {`INSERT INTO month_close SELECT id, (month + interval '1 month')::date, since, ends_at, follows, settlement, with_indirect, applied, actual, indirect, actor, closed_at FROM month_close`},
	"month_closed_once":                       {`INSERT INTO month_close SELECT gen_random_uuid(), month, since, ends_at, follows, settlement, with_indirect, applied, actual, indirect, actor, closed_at FROM month_close`},
	"month_closed_again_once":                 {`WITH again AS (SELECT generate_series(1, 2)) INSERT INTO month_close SELECT gen_random_uuid(), month, since, ends_at, r.id, settlement, with_indirect, applied, actual, indirect, c.actor, closed_at FROM month_close c, month_reopen r, again`},
	"month_close_follows_fkey":                {`UPDATE month_close SET follows = gen_random_uuid()`},
	"month_close_counts_its_month":            {`UPDATE month_close SET since = month + 1`},
	"month_begins_on_its_first_day":           {`UPDATE month_close SET month = month + 1`},
	"month_close_settlement_check":            {`UPDATE month_close SET settlement = 'forgotten'`},
	"month_reopen_pkey":                       {`INSERT INTO month_reopen TABLE month_reopen`},
	"month_reopened_once":                     {`INSERT INTO month_reopen SELECT gen_random_uuid(), close_id, reason, actor, reopened_at FROM month_reopen`},
	"month_reopen_close_id_fkey":              {`UPDATE month_reopen SET close_id = gen_random_uuid()`},
	"month_reopen_reason_check":               {`UPDATE month_reopen SET reason = ''`},
	"month_share_pkey":                        {`INSERT INTO month_share TABLE month_share`},
	"month_share_close_id_fkey":               {`UPDATE month_share SET close_id = gen_random_uuid()`},
	"month_balance_pkey":                      {`INSERT INTO month_balance TABLE month_balance`},
	"month_balance_close_id_fkey":             {`UPDATE month_balance SET close_id = gen_random_uuid()`},
	"month_day_pkey":                          {`INSERT INTO month_day TABLE month_day`},
	"month_day_close_id_fkey":                 {`UPDATE month_day SET close_id = gen_random_uuid()`},
	"burden_pkey":                             {`INSERT INTO burden TABLE burden`},
	"burden_share_check":                      {`UPDATE burden SET share = -1`},
	"burden_that_ends_is_somebodys":           {`UPDATE burden SET ends = true`, `UPDATE burden SET ends = true, share = 0, person_id = NULL`},
	"payroll_lock_pkey":                       {`INSERT INTO payroll_lock TABLE payroll_lock`},
	"payroll_week_begins_on_monday":           {`UPDATE payroll_lock SET week = week + 1`},
	"seal_pkey":                               {`INSERT INTO seal TABLE seal`},
	"seal_head_pkey":                          {`INSERT INTO seal_head TABLE seal_head`},
	"seal_head_only_one_check":                {`UPDATE seal_head SET only_one = false`},
	"payroll_line_pkey":                       {`INSERT INTO payroll_line TABLE payroll_line`},
	"payroll_line_week_fkey":                  {`UPDATE payroll_line SET week = week + 7`},
	"standard_rate_pkey":                      {`INSERT INTO standard_rate TABLE standard_rate`},
	"standard_rate_per_hour_check":            {`UPDATE standard_rate SET per_hour = -1`},
	"sent_back_pkey":                          {`INSERT INTO sent_back TABLE sent_back`},
	"inspection_pkey":                         {`INSERT INTO inspection TABLE inspection`},
	"comeback_pkey":                           {`INSERT INTO comeback TABLE comeback`},
	"comeback_stage_pkey":                     {`INSERT INTO comeback_stage TABLE comeback_stage`},
	"mark_pkey":                               {`INSERT INTO mark TABLE mark`},
	"mark_kind_check":                         {`UPDATE mark SET kind = 'listed'`, `UPDATE mark SET kind = ''`},
	"person_pkey":                             {`INSERT INTO person TABLE person`},
	"piece_pkey":                              {`INSERT INTO piece TABLE piece`},
	"piece_sales_state_check":                 {`UPDATE piece SET sales_state = 'scrapped'`, `UPDATE piece SET sales_state = 'Sold'`},
}

func TestStore_TablesRefuse(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	save(t, db, func(b *costing.Book) {
		tagged(b, piece, 7)
		b.Work(nell.on(piece, time.Hour), nell.terms)
		b.Scrap(fact(piece))
		b.AddTerms(lotOf(id.New(), 1, 90_00, piece))
		b.CorrectPurchase(fact(piece), 90_00, 90_00, "the receipt")
		b.PlanStages(fact(piece), []costing.Stage{{ID: id.New(), Piece: piece, Kind: "sand", State: costing.StageOpen}})
		b.SendBack(costing.SentBack{Fact: fact(piece), BecauseOf: sanding, Stages: []costing.Reopened{{Stage: sanding, Kind: "sand"}}})
		b.Inspected(costing.Inspection{Fact: fact(piece), BackTo: sanding, Defects: []string{"runs"}})
		b.ComeBack(costing.Comeback{ID: sanding, Piece: piece, ReportedAt: noon})
		b.Mend(costing.Mending{Fact: fact(piece), Comeback: sanding, ReportedAt: noon, Faults: []string{"runs"}, Stages: []costing.Reopened{{Stage: sanding, Kind: "sand"}}})
		b.Begin(nell.clock(piece))
		b.Await(costing.OutsideWork{ID: id.New(), Piece: piece, Kind: "caning", Firm: "Rush & Reed"})
		b.Raise(costing.Review{ID: id.New(), Person: nell.id, PersonName: "Nell", Since: noon})
		b.Tangled = map[costing.PersonWeek]time.Time{{Person: nell.id, Monday: day(2)}: noon}
		b.Name(costing.Person{ID: nell.id, Name: "Nell", Version: 1})
	})
	must(t, db, func(ctx context.Context, st store.Store) error { return st.SetMadeBy(ctx, "edition 1") })
	exec(t, db, `INSERT INTO remade (since) VALUES ($1)`, noon)
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.InsertStandardRate(ctx, standardOf(24_00, 1))
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		return errors.Join(st.InsertPayRule(ctx, ruleFrom(2)), st.InsertBurden(ctx, burdenOf(nell.id, 1)))
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		return st.InsertPayLock(ctx, costing.PayLock{Monday: day(2), At: noon, Actor: "Ana", Lines: []costing.PayLine{{Person: nell.id, PersonName: "Nell", Labour: time.Hour}}})
	})
	must(t, db, func(ctx context.Context, st store.Store) error {
		blade := actual(8_00)
		back := blade
		back.ID, back.Amount, back.TakesBack, back.Reason = id.New(), -8_00, blade.ID, "entered twice"
		march := marchClose(piece)
		march.Reopened = &costing.Reopening{ID: id.New(), Reason: "a bill was missing", Actor: "Ana", At: noon}
		return errors.Join(st.InsertOverheadRate(ctx, boothRate()), st.InsertOverheadActual(ctx, blade), st.InsertOverheadActual(ctx, back), st.InsertClose(ctx, march),
			st.InsertReopening(ctx, march))
	})
	want, lines, gone, known := sheet(t, db, piece), postings(t, db), marks(t, db, piece), rates(t, db, nell.id)
	for constraint, statements := range past {
		for _, sql := range statements {
			err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
				_, err := tx.Exec(ctx, sql)
				return err
			})
			if !pg.Violates(err, constraint) {
				t.Errorf("%s = %v, want %s", sql, err, constraint)
			}
		}
	}
	same(t, "refused: sheet", want, sheet(t, db, piece))
	same(t, "refused: ledger", lines, postings(t, db))
	same(t, "refused: marks", gone, marks(t, db, piece))
	same(t, "refused: rates", known, rates(t, db, nell.id))
}

// What the domain can say, the tables can keep: each account in each bucket.
func TestStore_TablesTakeAllWords(t *testing.T) {
	db, piece := setup(t), id.New()
	var accounts []costing.Account
	for _, e := range costing.Standard().Entries {
		accounts = append(accounts, e.Name)
	}
	buckets := []costing.Bucket{costing.NoBucket, costing.Acquisition, costing.Labour, costing.Premium, costing.OnPay, costing.Overhead,
		costing.Material, costing.Outside, costing.Rework, costing.Fees, costing.Earned, costing.Tax}
	save(t, db, func(b *costing.Book) {
		all := costing.Transaction{ID: id.New(), Event: id.New(), OccurredAt: noon, RecordedAt: noon}
		for _, account := range accounts {
			for _, bucket := range buckets {
				all.Lines = append(all.Lines, costing.Line{Account: account, Bucket: bucket, Piece: piece})
			}
		}
		b.Post(all)
	})
	if got := postings(t, db); len(got) != len(accounts)*len(buckets) {
		t.Errorf("%d lines, want %d", len(got), len(accounts)*len(buckets))
	}
}

// Each constraint of the tables has a case here: primary keys too, for they keep an event
// from being booked twice.
func TestStore_ConstraintsAreThoseOfTheTables(t *testing.T) {
	own := pgtest.Open(t, "costing", nil, boot.Migrations(store.Migrations))
	same(t, "constraints, of the cases here and", slices.Sorted(maps.Keys(past)), pgtest.ConstraintNames(t, own, true))
}
