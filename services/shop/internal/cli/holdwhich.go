package cli

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/services/shop/internal/client"
)

// fromNow is a stretch of time from now on: 3d, 48h.
var fromNow = regexp.MustCompile(`^(\d{1,4})([dh])$`)

// until reads until when something holds: as the shop's Until, or a stretch from now on, which is kept as the time that it ends at.
func (c *command) until(e *env, shop *client.Shop, text string) (*timestamppb.Timestamp, error) {
	m := fromNow.FindStringSubmatch(text)
	if m == nil {
		return shop.Until(e.ctx, text)
	}
	unit := time.Hour
	if m[2] == "d" {
		unit = 24 * time.Hour
	}
	n, err := strconv.Atoi(m[1])
	if err != nil {
		return nil, err
	}
	at := time.Now().UTC().Truncate(time.Minute).Add(time.Duration(n) * unit)
	c.fixed.flags = append(c.fixed.flags, "--until", at.Format(time.RFC3339))
	return timestamppb.New(at), nil
}

// which is a hold, an offer or a deposit of a piece.
type which struct {
	Piece string `arg:"" help:"Tag number."`
	Which string `help:"Which of several, by its id as the list has it; without it, the only one that is open." placeholder:"ID"`
}

// open finds the one that is meant: the only one, or the one that is said, which may be over by now. What was found out rather than typed
// is kept, for once the command is done it is open no longer.
func (w which) open(c *command, collection string, names []string) (string, error) {
	switch {
	case w.Which != "":
		return collection + "/" + strings.ToLower(bare(w.Which)), nil
	case len(names) == 0:
		return "", fmt.Errorf("piece %s has no %s that is open; `shop %s list %s` shows all", w.Piece, strings.TrimSuffix(collection, "s"), strings.TrimSuffix(collection, "s"), w.Piece)
	case len(names) > 1:
		return "", fmt.Errorf("piece %s has %d %s that are open; say which with --which ID: `shop %s list %s` shows them", w.Piece, len(names), collection, strings.TrimSuffix(collection, "s"), w.Piece)
	}
	c.fixed.flags = append(c.fixed.flags, "--which", bare(names[0]))
	return names[0], nil
}
