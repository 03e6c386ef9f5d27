package store_test

import (
	"maps"
	"testing"

	"tackfree/pkg/pg"
)

func init() { maps.Copy(past, pastSignIn) }

// pastSignIn is what past is for the tables of who may come in.
var pastSignIn = map[string][]string{
	"person_role_check":              {`UPDATE person SET role = 'king'`, `UPDATE person SET role = ''`},
	"sign_in_person_id_fkey":         {`UPDATE sign_in SET person_id = gen_random_uuid()`},
	"sign_in_kind_check":             {`UPDATE sign_in SET kind = 'face'`},
	"sign_in_hash_check":             {`UPDATE sign_in SET hash = '4827'`},
	"sign_in_attempt_failures_check": {`UPDATE sign_in_attempt SET failures = -1`},
	"session_person_id_fkey":         {`UPDATE session SET person_id = gen_random_uuid() WHERE person_id IS NOT NULL`},
	"session_secret_once":            {`UPDATE session SET secret_sha = decode(repeat('00', 32), 'hex')`},
	"session_secret_sha_check":       {`UPDATE session SET secret_sha = ''`},
	"session_role_check":             {`UPDATE session SET role = 'king' WHERE person_id IS NULL`},
	"session_of_person_or_program": {`UPDATE session SET role = 'owner'`, `UPDATE session SET label_key = 'x'`,
		`UPDATE session SET person_id = NULL`, `UPDATE session SET label_key = NULL`},
	"token_label_once":    {`UPDATE session SET label_key = 'till' WHERE person_id IS NULL`},
	"claim_key_one_check": {`UPDATE claim_key SET one = false`},
	"claim_key_sha_check": {`UPDATE claim_key SET sha = ''`},
}

// busyDoor has two people who signed in, and two programs.
var busyDoor = []string{
	`INSERT INTO sign_in (person_id, kind, hash, changed_at) SELECT id, 'pin', '$argon2id$x', now() FROM person WHERE display_name IN ('Nell', 'Odo')`,
	`INSERT INTO sign_in_attempt (name_key, failures, tried_at) VALUES ('nell', 1, now())`,
	`INSERT INTO session (id, person_id, secret_sha, label, created_at, expires_at)
		SELECT gen_random_uuid(), id, decode(repeat(CASE display_name WHEN 'Nell' THEN 'aa' ELSE 'bb' END, 32), 'hex'), 'phone', now(), now() FROM person WHERE display_name IN ('Nell', 'Odo')`,
	`INSERT INTO session (id, secret_sha, label, label_key, role, created_at, expires_at) VALUES
		(gen_random_uuid(), decode(repeat('01', 32), 'hex'), 'Till', 'till', 'lead', now(), now()), (gen_random_uuid(), decode(repeat('02', 32), 'hex'), 'Web', 'web', 'helper', now(), now())`,
	`INSERT INTO claim_key (sha, made_at) VALUES (decode(repeat('00', 32), 'hex'), now())`,
}

func fillSignIn(t *testing.T, db *pg.DB) {
	t.Helper()
	for _, sql := range busyDoor {
		if err := execute(t, db, sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}
