package server

import (
	"maps"
	"slices"
	"sync"

	"tackfree/pkg/id"
)

// dirt is what changed since alerts were looked at. The zero value is good.
type dirt struct {
	mu       sync.Mutex
	all      bool
	products map[id.ID]bool
	wake     chan struct{}
}

// wakes says that there is some: once for all since it was last read.
func (d *dirt) wakes() chan struct{} {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.channel()
}

func (d *dirt) channel() chan struct{} {
	if d.wake == nil {
		d.wake = make(chan struct{}, 1)
	}
	return d.wake
}

// add adds some products, or all.
func (d *dirt) add(all bool, products []id.ID) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.all = d.all || all
	if d.products == nil {
		d.products = map[id.ID]bool{}
	}
	for _, p := range products {
		d.products[p] = true
	}
	select {
	case d.channel() <- struct{}{}:
	default: // nobody has looked since the last time
	}
}

func (d *dirt) take() (all bool, products []id.ID) {
	d.mu.Lock()
	defer d.mu.Unlock()
	all, products = d.all, slices.Collect(maps.Keys(d.products))
	d.all = false
	clear(d.products)
	return all, products
}

// Changed has the alerts looked at anew: those of the products that changed, and those of no
// product. It is called after the commit, and waits for nothing.
func (s *Server) Changed(products ...id.ID) { s.dirt.add(false, products) }

// changedAll has all alerts looked at anew.
func (s *Server) changedAll() { s.dirt.add(true, nil) }
