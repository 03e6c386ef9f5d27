// Package once lets a client ask again without fear: a command with the same request_id
// and the same body is done once and answered alike; with another body it is refused.
// Plumbing.
//
// The answer is written in the command's own transaction. The usual, first asking pays
// one insert and no read; only when the command is refused, or the insert collides, is
// the earlier answer looked up.
package once

import (
	"context"
	"crypto/sha256"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/pkg/planted"
)

//go:embed migrations/*.sql
var files embed.FS

// Keep is how long an answer is kept: long enough for a device that was offline.
const Keep = 7 * 24 * time.Hour

// Migrations are the tables that a service with commands has in its schema.
func Migrations() pg.Migrations {
	root, err := fs.Sub(files, "migrations")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return pg.Migrations{Name: "once", Files: root}
}

// Command is a request that changes something.
type Command interface {
	proto.Message
	GetRequestId() string
}

// Do runs fn in a transaction and keeps its answer under the caller and the request's
// id; or gives the answer that was kept. Refused: REQUEST_ID_REUSED.
func Do[R proto.Message](ctx context.Context, db *pg.DB, command Command, now time.Time, fn func(ctx context.Context, tx *pg.Tx) (R, error)) (R, error) {
	var answer R
	hash, err := hashOf(command)
	if err != nil {
		return answer, err
	}
	err = db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		var err error
		if answer, err = fn(ctx, tx); err != nil || planted.KeepNothing || planted.KeepApart {
			return err
		}
		return keep(ctx, tx, command, hash, answer, now)
	})
	if planted.KeepApart && err == nil {
		err = db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return keep(ctx, tx, command, hash, answer, now) })
	}
	if err == nil || planted.AnswerBeforeCommit && fault.Is(err, "OUTCOME_UNKNOWN") {
		return answer, nil
	}
	earlier, found, lookupErr := lookUp(ctx, db, command, hash, answer)
	switch {
	case found:
		return earlier, nil
	case fault.Is(lookupErr, "REQUEST_ID_REUSED"):
		return answer, lookupErr
	}
	return answer, err // why it failed says more than why the look-up did
}

// hashOf covers the kind of command and its body, without the id itself.
func hashOf(command Command) ([]byte, error) {
	without := proto.Clone(command).ProtoReflect()
	without.Clear(without.Descriptor().Fields().ByName("request_id"))
	body, err := proto.MarshalOptions{Deterministic: true}.Marshal(without.Interface())
	if err != nil {
		return nil, fmt.Errorf("encode command: %w", err)
	}
	h := sha256.New()
	h.Write([]byte(command.ProtoReflect().Descriptor().FullName()))
	h.Write([]byte{0})
	h.Write(body)
	return h.Sum(nil), nil
}

func keep(ctx context.Context, tx *pg.Tx, command Command, hash []byte, answer proto.Message, now time.Time) error {
	body, err := proto.Marshal(answer)
	if err != nil {
		return fmt.Errorf("encode answer: %w", err)
	}
	_, err = tx.Exec(ctx, `INSERT INTO request (actor, request_id, hash, response, created_at) VALUES ($1, $2, $3, $4, $5)`,
		caller.Of(ctx).Actor, command.GetRequestId(), hash, body, now)
	return err
}

// lookUp reads the answer kept for the command into a message like shape.
func lookUp[R proto.Message](ctx context.Context, db *pg.DB, command Command, hash []byte, shape R) (R, bool, error) {
	answer := shape.ProtoReflect().Type().New().Interface().(R)
	var keptHash, body []byte
	err := db.View(ctx, func(q pg.Querier) error {
		return q.QueryRow(ctx, `SELECT hash, response FROM request WHERE actor = $1 AND request_id = $2`,
			caller.Of(ctx).Actor, command.GetRequestId()).Scan(&keptHash, &body)
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return answer, false, nil
	}
	if err != nil {
		return answer, false, err
	}
	if string(keptHash) != string(hash) {
		return answer, false, fault.New(fault.Invalid, "REQUEST_ID_REUSED",
			"The request id %s was already used for another command. Make a new one for each command.", command.GetRequestId()).At("request_id")
	}
	if err := proto.Unmarshal(body, answer); err != nil {
		return answer, false, fmt.Errorf("decode kept answer: %w", err)
	}
	return answer, true, nil
}

// Purge forgets answers older than Keep.
func Purge(ctx context.Context, db *pg.DB, now time.Time) error {
	return db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, `DELETE FROM request WHERE created_at < $1`, now.Add(-Keep))
		return err
	})
}
