package cli

import "tackfree/services/shop/internal/bench"

type benchPagesCmd struct{ benchFlags }

// Run is called by kong.
func (c *benchPagesCmd) Run(e *env) error {
	r, err := bench.RunPages(e.ctx, e.options(c.Rounds, c.Slice, c.JSON))
	if err != nil {
		return err
	}
	return e.result(c.JSON, r, `the day of %d pieces: the first after a start %.1f ms, then half within %.1f ms, 99 of 100 within %.1f ms; %.1f kB sent, %.1f kB unpacked
%d changes, one each %.0f ms: half are shown by another browser within %.1f ms, 99 of 100 within %.1f ms
%d open event streams take %.1f MB, with the clients that hold them`,
		r.Pieces, r.FirstMs, r.PageP50ms, r.PageP99ms, r.SentKB, r.UnpackedKB, r.Changes, r.EachMs, r.SeenP50ms, r.SeenP99ms, r.Streams, r.StreamsMB)
}
