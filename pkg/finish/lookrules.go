package finish

// limingRules are what white in the pores asks of the wood, in the order in which it is
// made. Common practice.
func limingRules() []Rule {
	return []Rule{
		{ID: "liming-pores", Severity: Stop, Says: "Only wood with open pores takes liming.",
			Why: "The white stays in the pores alone; closed wood has none to hold it, and the rest is wiped off.", Instead: "Choose it for oak, ash, chestnut or the like; paint or stain other parts.",
			broken: func(s *surface, n Step) bool { return n.Kind == LimingCoat && !s.kind.OpenPore }},
		{ID: "pores-opened", Severity: Caution, Says: "Pores are opened before white goes into them.",
			Why: "Dust and old finish fill them, and sanding closes them.", Instead: "Brush them out along the grain with a brass brush, before anything seals the wood.",
			broken: func(s *surface, n Step) bool { return n.Kind == LimingCoat && s.kind.OpenPore && !s.opened },
			remedy: func(s *surface, _ Step) []Step {
				if !s.bare {
					return nil // what lies in them stays there
				}
				return []Step{{Kind: OpenPores, Why: "the pores are brushed out along the grain, so that they hold the white"}}
			}},
		{ID: "liming-seal", Severity: Caution, Says: "White is wiped over a thin seal, not over bare wood.",
			Why: "Bare wood soaks it up everywhere and turns grey; over a seal it wipes off clean and stays in the pores.", Instead: "Seal with one thin coat of dewaxed shellac first.",
			broken: func(s *surface, n Step) bool { return n.Kind == LimingCoat && s.bare },
			remedy: seal("over a thin seal the white stays in the pores and wipes off the rest")},
	}
}

func lookRules() []Rule {
	return []Rule{
		{ID: "wipe-off", Severity: Caution, Says: "What is wiped into the pores is wiped off the rest while it is wet.",
			Why: "Dry, it comes off only by sanding, which takes it out of the pores too.", Instead: "Wipe off across the grain, in sections that stay wet.",
			broken: func(s *surface, n Step) bool {
				if n.Kind == WipeOff {
					return s.unwiped && s.waited > 0 && s.waited >= s.top.Recoat
				}
				return s.unwiped && (touches(n.Kind) || handles[n.Kind])
			},
			remedy: func(s *surface, n Step) []Step {
				if n.Kind == WipeOff {
					return nil // it dried
				}
				return []Step{{Kind: WipeOff, Wait: s.top.Recoat, Why: "across the grain the white comes off the wood and stays in the pores"}}
			}},
		{ID: "ebonise-tannin", Severity: Note, Says: "Iron blackens only wood that holds tannin.",
			Why: "The black is iron and tannin together; maple or pine only turn grey.", Instead: "Brush strong bark tea on first, or use a black dye; try it on a hidden spot.",
			broken: func(s *surface, n Step) bool { return n.Kind == Ebonise && s.bare && !s.kind.Tannin }},
		{ID: "mask-dry", Severity: Caution, Says: "Tape goes only on a film that it does not lift.",
			Why: "Paint that is merely dry to recoat comes off with the tape.", Instead: "Let it dry for a day, and use tape for delicate surfaces.",
			broken: func(s *surface, n Step) bool { return n.Kind == Mask && s.coated && s.waited < s.tapes() },
			remedy: func(s *surface, _ Step) []Step {
				return []Step{{Kind: Dry, Wait: s.tapes() - s.waited, Why: "tape would lift a film that is merely dry"}}
			}},
		{ID: "unmask", Severity: Caution, Says: "The tape comes off before the film that covers both colours.",
			Why: "Under a film it tears the edge, and left for days it stays stuck.", Instead: "Pull it off at an angle as soon as the last coat beside it is dry to the touch.",
			broken: func(s *surface, n Step) bool {
				covers := n.Kind == TopcoatCoat || n.Kind == GlazeCoat || n.Kind == WaxCoat
				return s.masked && handles[n.Kind] || s.overTape && covers
			},
			remedy: one(Unmask, "the tape comes off before anything covers it")},
		{ID: "glaze-sealed", Severity: Caution, Says: "A glaze or a toner goes over a sealed surface.",
			Why: "Bare wood soaks it up in blots, and it cannot be wiped back.", Instead: "Seal with one thin coat first.",
			broken: func(s *surface, n Step) bool {
				return (n.Kind == GlazeCoat || n.Kind == TonerCoat) && s.bare && (s.wooden() || s.Material == MDF)
			},
			remedy: seal("bare, the surface would soak the colour up in blots")},
	}
}

// seal puts a thin coat of dewaxed shellac in.
func seal(why string) func(*surface, Step) []Step {
	return func(s *surface, _ Step) []Step {
		p := s.palette.tie()
		return []Step{{Kind: SealCoat, Product: p, Wait: p.Recoat, Why: why}}
	}
}
