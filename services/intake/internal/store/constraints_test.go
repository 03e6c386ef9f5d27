package store_test

import (
	"context"
	"errors"
	"maps"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// past writes, for each constraint of the tables, what it refuses. The first piece is
// bought and the second a client's; each has one part. Two more are a lot. The first has two photos.
// Of a client's two commissions the first is open and about the second piece, the second is cancelled and has two change
// orders, of which the first was declined.
// Of three prospects the first is open, the second is the first piece now, and the third was declined.
var past = map[string][]string{
	"piece_tag_check":             {`UPDATE piece SET tag = 0`, `UPDATE piece SET tag = -1`},
	"piece_tag_once":              {`UPDATE piece SET tag = 9`},
	"piece_price_check":           {`UPDATE piece SET price = -1 WHERE tag = 1`},
	"piece_state_check":           {`UPDATE piece SET state = 'sold'`, `UPDATE piece SET state = ''`},
	"piece_version_check":         {`UPDATE piece SET version = 0`},
	"piece_has_one_origin":        {`UPDATE piece SET client = 'Ana'`, `UPDATE piece SET price = NULL`},
	"part_piece_id_fkey":          {`UPDATE part SET piece_id = gen_random_uuid()`, `DELETE FROM piece`},
	"part_count_check":            {`UPDATE part SET count = 0`},
	"part_length_check":           {`UPDATE part SET length = -0.00000000000000000001`},
	"part_width_check":            {`UPDATE part SET width = -1`},
	"part_thickness_check":        {`UPDATE part SET thickness = -1`},
	"part_place":                  {`UPDATE part SET piece_id = (SELECT id FROM piece WHERE tag = 1)`},
	"piece_prospect_id_fkey":      {`UPDATE piece SET prospect_id = gen_random_uuid() WHERE tag = 1`},
	"piece_lot_id_fkey":           {`UPDATE piece SET lot_id = gen_random_uuid() WHERE tag = 1`},
	"piece_of_lot_is_bought":      {`UPDATE piece SET lot_id = (SELECT id FROM lot) WHERE tag = 2`},
	"lot_on_scrap_check":          {`UPDATE lot SET on_scrap = ''`},
	"lot_terms_lot_id_fkey":       {`INSERT INTO lot_terms VALUES (gen_random_uuid(), 1, 0, 'equally', '', now())`},
	"lot_terms_version_check":     {`UPDATE lot_terms SET version = 0`},
	"lot_terms_price_check":       {`UPDATE lot_terms SET price = -1`},
	"lot_terms_split_check":       {`UPDATE lot_terms SET split = 'by_area'`},
	"lot_share_of_terms":          {`UPDATE lot_share SET version = 2`},
	"lot_share_piece_id_fkey":     {`UPDATE lot_share SET piece_id = gen_random_uuid()`},
	"lot_share_once":              {`UPDATE lot_share SET piece_id = (SELECT id FROM piece WHERE tag = 3)`},
	"lot_share_weight_check":      {`UPDATE lot_share SET weight = -1`},
	"lot_share_share_check":       {`UPDATE lot_share SET share = -1`},
	"photo_file_sha256":           {`INSERT INTO photo_file VALUES ('ab', 1, 1, 1, now())`, `INSERT INTO photo_file VALUES (repeat('A', 64), 1, 1, 1, now())`},
	"photo_file_width_check":      {`UPDATE photo_file SET width = 0`},
	"photo_file_height_check":     {`UPDATE photo_file SET height = 0`},
	"photo_file_size_bytes_check": {`UPDATE photo_file SET size_bytes = 0`},
	"photo_piece_id_fkey":         {`UPDATE photo SET piece_id = gen_random_uuid() WHERE number = 1`},
	"photo_number_check":          {`UPDATE photo SET number = 0 WHERE number = 1`},
	"photo_part_id_fkey":          {`UPDATE photo SET part_id = gen_random_uuid()`},
	"photo_moment_check":          {`UPDATE photo SET moment = 'later'`},
	"photo_sha256_fkey":           {`UPDATE photo SET sha256 = repeat('0', 64) WHERE number = 1`, `DELETE FROM photo_file`},
	"photo_version_check":         {`UPDATE photo SET version = 0`},
	"photo_number_once":           {`UPDATE photo SET number = 2`},
	"photo_once":                  {`UPDATE photo SET sha256 = repeat('a', 64)`},
	"photo_removed_whole":         {`UPDATE photo SET removed_at = now()`, `UPDATE photo SET remove_reason = ''`},
	"tag_counter_only_one_check":  {`INSERT INTO tag_counter (only_one, last) VALUES (false, 1)`},
	"piece_size_check":            {`UPDATE piece SET size = 'huge'`},
	"piece_condition_check":       {`UPDATE piece SET condition = 'new'`},
	"prospect_number_check":       {`UPDATE prospect SET number = 0 WHERE number = 1`},
	"prospect_number_once":        {`UPDATE prospect SET number = 7`},
	"prospect_state_check":        {`UPDATE prospect SET state = '' WHERE number = 1`},
	"prospect_piece_id_fkey":      {`UPDATE prospect SET piece_id = gen_random_uuid() WHERE number = 2`},
	"prospect_piece_once":         {`UPDATE prospect SET state = 'bought', paid = 0, decline_reason = NULL, piece_id = (SELECT id FROM piece WHERE tag = 1)`},
	"prospect_paid_check":         {`UPDATE prospect SET paid = -1 WHERE number = 2`},
	"prospect_bought_whole":       {`UPDATE prospect SET paid = 1 WHERE number = 1`, `UPDATE prospect SET paid = NULL WHERE number = 2`, `UPDATE prospect SET piece_id = NULL WHERE number = 2`},
	"prospect_declined_why":       {`UPDATE prospect SET decline_reason = '' WHERE number = 1`, `UPDATE prospect SET decline_reason = NULL WHERE number = 3`},
	"prospect_version_check":      {`UPDATE prospect SET version = 0`},

	"prospect_counter_only_one_check":     {`INSERT INTO prospect_counter (only_one, last) VALUES (false, 1)`},
	"buying_terms_only_one_check":         {`INSERT INTO buying_terms VALUES (false, 0, 0.8, 0, 0, 50, 45, 0)`},
	"buying_terms_target_per_hour_check":  {`UPDATE buying_terms SET target_per_hour = -1`},
	"buying_terms_chance_check":           {`UPDATE buying_terms SET chance = 0`, `UPDATE buying_terms SET chance = 1`},
	"buying_terms_labour_per_hour_check":  {`UPDATE buying_terms SET labour_per_hour = -1`},
	"buying_terms_travel_per_km_check":    {`UPDATE buying_terms SET travel_per_km = -1`},
	"buying_terms_km_per_hour_check":      {`UPDATE buying_terms SET km_per_hour = 0`},
	"buying_terms_handling_minutes_check": {`UPDATE buying_terms SET handling_minutes = -1`},
	"buying_terms_version_check":          {`UPDATE buying_terms SET version = -1`},

	"record_counter_what_check":             {`INSERT INTO record_counter VALUES ('piece', 1)`},
	"client_number_check":                   {`UPDATE client SET number = 0`},
	"client_number_once":                    {`INSERT INTO client SELECT gen_random_uuid(), number, '', '', '', '{}', NULL, '', false, now(), 1 FROM client`},
	"client_exempt_whole":                   {`UPDATE client SET exempt_reason = NULL`},
	"client_version_check":                  {`UPDATE client SET version = 0`},
	"piece_client_id_fkey":                  {`UPDATE piece SET client_id = gen_random_uuid() WHERE tag = 2`},
	"piece_of_client_is_theirs":             {`UPDATE piece SET client_id = (SELECT id FROM client) WHERE tag = 1`},
	"commission_number_check":               {`UPDATE commission SET number = 0 WHERE number = 1`},
	"commission_number_once":                {`UPDATE commission SET number = 7`},
	"commission_client_id_fkey":             {`UPDATE commission SET client_id = gen_random_uuid()`},
	"commission_piece_id_fkey":              {`UPDATE commission SET piece_id = gen_random_uuid()`},
	"commission_state_check":                {`UPDATE commission SET state = ''`},
	"commission_approved_version_check":     {`UPDATE commission SET approved_version = -1 WHERE number = 2`},
	"commission_approved_whole":             {`UPDATE commission SET state = 'approved' WHERE number = 1`, `UPDATE commission SET approved_version = 1 WHERE number = 1`},
	"commission_of_piece_once":              {`INSERT INTO commission SELECT gen_random_uuid(), 9, client_id, piece_id, '', state, 0, NULL, now(), 1 FROM commission WHERE number = 1`},
	"commission_settled":                    {`UPDATE commission SET state = 'cancelled' WHERE number = 1`, `UPDATE commission SET settlement = NULL WHERE number = 2`},
	"commission_finished":                   {`UPDATE commission SET finish = '{}' WHERE number = 1`, `UPDATE commission SET state = 'finished', approved_version = 1 WHERE number = 1`},
	"commission_version_check":              {`UPDATE commission SET version = 0`},
	"estimate_commission_id_fkey":           {`UPDATE estimate SET commission_id = gen_random_uuid()`},
	"estimate_version_check":                {`UPDATE estimate SET version = 0`},
	"change_order_commission_id_fkey":       {`UPDATE change_order SET commission_id = gen_random_uuid()`},
	"change_order_number_check":             {`UPDATE change_order SET number = 0 WHERE number = 1`},
	"change_order_state_check":              {`UPDATE change_order SET state = ''`},
	"change_order_answered":                 {`UPDATE change_order SET answer = NULL WHERE number = 1`, `UPDATE change_order SET state = 'approved' WHERE number = 2`},
	"commission_terms_only_one_check":       {`INSERT INTO commission_terms VALUES (false, 0, 0, 0, 0, 30, 'nothing', 0, false, 0)`},
	"commission_terms_rate_check":           {`UPDATE commission_terms SET rate = -1`},
	"commission_terms_markup_check":         {`UPDATE commission_terms SET markup = -0.0001`, `UPDATE commission_terms SET markup = 1000.1`},
	"commission_terms_tax_check":            {`UPDATE commission_terms SET tax = -0.0001`, `UPDATE commission_terms SET tax = 100.1`},
	"commission_terms_deposit_check":        {`UPDATE commission_terms SET deposit = 100.1`},
	"commission_terms_valid_days_check":     {`UPDATE commission_terms SET valid_days = 0`},
	"commission_terms_cancel_rule_check":    {`UPDATE commission_terms SET cancel_rule = ''`},
	"commission_terms_cancel_percent_check": {`UPDATE commission_terms SET cancel_percent = 100.1`},
	"commission_terms_version_check":        {`UPDATE commission_terms SET version = -1`},
	"part_assessment_part_id_fkey":          {`INSERT INTO part_assessment SELECT gen_random_uuid(), 'veneer', '', 1, 'mm', 'bare', false, false, 0, false, '', '[]', '', '', now(), 1`},
	"part_assessment_veneer_check":          {`INSERT INTO part_assessment SELECT id, 'veneer', '', -1, 'mm', 'bare', false, false, 0, false, '', '[]', '', '', now(), 1 FROM part LIMIT 1`},
	"part_assessment_old_finish_check":      {`INSERT INTO part_assessment SELECT id, 'veneer', '', 1, 'mm', '', false, false, 0, false, '', '[]', '', '', now(), 1 FROM part LIMIT 1`},
	"part_assessment_painted_in_check":      {`INSERT INTO part_assessment SELECT id, 'veneer', '', 1, 'mm', 'bare', false, false, -1, false, '', '[]', '', '', now(), 1 FROM part LIMIT 1`},
	"part_assessment_version_check":         {`INSERT INTO part_assessment SELECT id, 'veneer', '', 1, 'mm', 'bare', false, false, 0, false, '', '[]', '', '', now(), 0 FROM part LIMIT 1`},
	"part_assessment_veneer_of_veneer":      {`INSERT INTO part_assessment SELECT id, 'mdf', '', 1, 'mm', 'bare', false, false, 0, false, '', '[]', '', '', now(), 1 FROM part LIMIT 1`},
	"part_assessment_decade":                {`INSERT INTO part_assessment SELECT id, 'veneer', '', 1, 'mm', 'bare', false, false, 1955, true, '', '[]', '', '', now(), 1 FROM part LIMIT 1`},

	"letterhead_only_one_check": {`INSERT INTO letterhead VALUES (false, '', '{}', '', '', '', '', '', '', 0)`},
	"letterhead_paper_check":    {`UPDATE letterhead SET paper = 'a3'`},
	"letterhead_said":           {`UPDATE letterhead SET version = 1`},
	"letterhead_version_check":  {`UPDATE letterhead SET version = -1, shop_name = 'x', paper = 'a4'`},
}

func somePieces(t *testing.T, db *pg.DB) []intake.Piece {
	t.Helper()
	bought, brought := stool(1), stool(2)
	brought.Purchase, brought.Client = nil, "Ana"
	keep(t, db, bought, brought)
	_, ofLot := keepLot(t, db, 3, 4)
	keepPhotos(t, db, photoOf(bought, 1, "a"), photoOf(bought, 2, "b"))
	open, taken, declined := seen(1), seen(2), seen(3)
	keepProspects(t, db, open, taken, declined)
	taken.State, taken.Piece = intake.ProspectBought, bought.ID
	declined.State, declined.Reason = intake.ProspectDeclined, "worm"
	closeProspects(t, db, taken, declined)
	keepCommissions(t, db, brought)
	return append(ofLot, bought, brought)
}

func TestStore_TablesRefuse(t *testing.T) {
	db := setup(t)
	pieces := somePieces(t, db)
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
	if photos := listed(t, db, store.PhotosOf{Piece: pieces[2].ID, Limit: 9}); len(photos) != 2 || photos[0].Version != 1 || photos[0].File.Width != 640 {
		t.Errorf("refused, but the photos are %+v", photos)
	}
	for _, p := range pieces {
		if diff := cmp.Diff(p, get(t, db, p.ID), exact); diff != "" {
			t.Errorf("refused, but changed (-before +after):\n%s", diff)
		}
	}
}

// What the domain cannot know, because it sees one piece, the tables tell in words.
func TestStore_Insert_TagTaken(t *testing.T) {
	db := setup(t)
	somePieces(t, db)
	third := stool(2)
	err := inTx(t, db, func(ctx context.Context, st store.Store) error { return st.Insert(ctx, third) })
	if !fault.Is(err, "TAG_TAKEN") || !errors.Is(err, fault.Exists) || fault.Of(err).Fields[0].Path != "tag" {
		t.Errorf("Insert = %v, want TAG_TAKEN at tag", err)
	}
	err = view(t, db, func(ctx context.Context, st store.Store) error { _, err := st.Get(ctx, third.ID); return err })
	if !fault.Is(err, "PIECE_NOT_FOUND") {
		t.Errorf("Get of a refused piece = %v, want PIECE_NOT_FOUND", err)
	}
}

// Each constraint of the tables has a case here, and each that the store has words for is
// there under that name.
func TestStore_ConstraintsAreThoseOfTheTables(t *testing.T) {
	there := pgtest.ConstraintNames(t, setup(t), false)
	if diff := cmp.Diff(slices.Sorted(maps.Keys(past)), there); diff != "" {
		t.Errorf("constraints (-with a case here +in the tables):\n%s", diff)
	}
	for name := range store.Constraints {
		if !slices.Contains(there, name) {
			t.Errorf("no table has the constraint %s", name)
		}
	}
}
