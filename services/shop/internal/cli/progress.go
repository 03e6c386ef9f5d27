package cli

import (
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"
)

// progress shows on standard error how far long work is, where that is a terminal and nobody asked for quiet.
// One that is nil shows nothing. Its methods can be called beside each other.
type progress struct {
	bar     *progressbar.ProgressBar
	over    chan struct{} // closed when it ends; nil: nothing turns
	turning sync.WaitGroup
	once    sync.Once
}

// turn is how often what has no length shows that it goes on.
const turn = 100 * time.Millisecond

// progress begins to show so many steps. The end of the command ends it.
func (e *env) progress(what string, steps int, quiet bool) *progress {
	if quiet || !onTerminal(e.errs) {
		return nil
	}
	e.shown = &progress{bar: progressbar.NewOptions64(int64(steps), progressbar.OptionSetWriter(e.errs), progressbar.OptionSetDescription(what),
		progressbar.OptionSetWidth(24), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(turn), progressbar.OptionSetElapsedTime(true),
		progressbar.OptionSetPredictTime(steps > 0), progressbar.OptionSpinnerType(14))}
	return e.shown
}

// waiting shows that something goes on of which nobody knows how long it takes.
func (e *env) waiting(what string, quiet bool) *progress {
	p := e.progress(what, -1, quiet)
	if p == nil {
		return nil
	}
	p.over = make(chan struct{})
	p.turning.Go(func() {
		t := time.NewTicker(turn)
		defer t.Stop()
		for {
			select {
			case <-p.over:
				return
			case <-t.C:
				_ = p.bar.Add(1)
			}
		}
	})
	return p
}

// at shows how many steps are done.
func (p *progress) at(done int) {
	if p != nil {
		_ = p.bar.Set(done)
	}
}

// says shows what is so far.
func (p *progress) says(what string) {
	if p != nil {
		p.bar.Describe(what)
	}
}

// aside writes to what may be the same terminal, without the bar in the way.
func (p *progress) aside(write func()) {
	if p != nil {
		_ = p.bar.Clear()
	}
	write()
}

// end takes it from the screen, once.
func (p *progress) end() {
	if p == nil {
		return
	}
	p.once.Do(func() {
		if p.over != nil {
			close(p.over)
		}
		p.turning.Wait()
		_ = p.bar.Clear()
	})
}
