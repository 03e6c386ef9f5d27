package access

// Remembered is how many tokens a guard remembers.
func (g *Guard) Remembered() int {
	g.mu.RLock()
	defer g.mu.RUnlock()
	return len(g.good)
}
