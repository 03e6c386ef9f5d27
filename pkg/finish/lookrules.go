package finish

// limingRules are what white in the pores asks of the wood, in the order in which it is
// made.
func limingRules() []Rule {
	return []Rule{
		{ID: "liming-pores", Severity: Note, Source: practice, Says: "Only open pores show liming; on other wood it is a white veil.",
			Why: "The white stays in the pores; closed wood has none, and what is not wiped off lies on the seal, as on pickled pine.", Instead: "Choose it for oak, ash, chestnut or the like if the pores are to be white; try the veil on a hidden spot.",
			broken: func(s *surface, n *next) bool { return n.Kind == LimingCoat && s.wooden() && !s.kind.OpenPore }},
		{ID: "pores-opened", Severity: Caution, Source: practice, Says: "Pores are opened before white goes into them.",
			Why: "Dust and old finish fill them, and sanding closes them.", Instead: "Brush them out along the grain with a brass brush, before anything seals the wood.",
			broken: func(s *surface, n *next) bool { return n.Kind == LimingCoat && s.kind.OpenPore && !s.opened },
			remedy: func(s *surface, _ *next) []Step {
				if !s.bare {
					return nil // what lies in them stays there
				}
				return []Step{{Kind: OpenPores, Why: "the pores are brushed out along the grain, so that they hold the white"}}
			}},
		{ID: "liming-seal", Severity: Caution, Source: practice, Says: "White is wiped over a thin seal, not over bare wood.",
			Why: "Bare wood soaks it up everywhere and turns grey; over a seal it wipes off clean and stays in the pores.", Instead: "Seal with one thin coat of dewaxed shellac first.",
			broken: func(s *surface, n *next) bool { return n.Kind == LimingCoat && s.bare },
			remedy: seal("over a thin seal the white stays where it is wanted and wipes off the rest")},
	}
}

func lookRules() []Rule {
	return []Rule{
		{ID: "wipe-off", Severity: Caution, Source: practice, Says: "What is wiped into the pores is wiped off the rest while it is wet.",
			Why: "Dry, it comes off only by sanding, which takes it out of the pores too.", Instead: "Wipe off across the grain, in sections that stay wet.",
			broken: func(s *surface, n *next) bool {
				if n.Kind == WipeOff {
					return s.unwiped && s.waited > 0 && s.waited >= s.top.Recoat
				}
				return s.unwiped && (n.is.touches || n.is.handles)
			},
			remedy: func(s *surface, n *next) []Step {
				if n.Kind == WipeOff {
					return nil // it dried
				}
				return []Step{{Kind: WipeOff, Wait: s.top.Recoat, Why: "across the grain the white comes off the wood and stays in the pores"}}
			}},
		{ID: "ebonise-tannin", Severity: Note, Source: practice + "; USDA Wood Handbook (FPL-GTR-190), chapter 16, on iron stain", Says: "Iron blackens only wood that holds tannin.",
			Why: "The black is iron and tannin together; maple or pine only turn grey.", Instead: "Brush strong bark tea on first, or use a black dye; try it on a hidden spot.",
			broken: func(s *surface, n *next) bool { return n.Kind == Ebonise && s.bare && !s.kind.Tannin }},
		{ID: "mask-dry", Severity: Caution, Source: practice, Says: "Tape goes only on a film that it does not lift.",
			Why: "Paint that is merely dry to recoat comes off with the tape.", Instead: "Let it dry for a day, and use tape for delicate surfaces.",
			broken: func(s *surface, n *next) bool { return n.Kind == Mask && s.coated && s.waited < s.tapes() },
			remedy: func(s *surface, _ *next) []Step {
				return []Step{{Kind: Dry, Wait: s.tapes() - s.waited, Why: "tape would lift a film that is merely dry"}}
			}},
		{ID: "unmask", Severity: Caution, Source: practice, Says: "The tape comes off before the film that covers both colours.",
			Why: "Under a film it tears the edge, and left for days it stays stuck.", Instead: "Pull it off at an angle as soon as the last coat beside it is on.",
			broken: func(s *surface, n *next) bool {
				covers := n.Kind == TopcoatCoat || n.Kind == GlazeCoat || n.Kind == WaxCoat
				return s.masked && n.is.handles || s.overTape && covers
			},
			remedy: one(Unmask, "the tape comes off before anything covers it")},
		{ID: "unmask-soft", Severity: Caution, Source: practice, Says: "The tape comes off while the coat over its edge is soft.",
			Why: "Once the coat is dry to recoat it bridges from tape to film, and pulling the tape tears it.", Instead: "Pull it off soon after the last coat; along a dry edge run a sharp blade first.",
			broken: func(s *surface, n *next) bool { return n.Kind == Unmask && s.edge && s.waited >= s.top.Recoat }},
		{ID: "scuff-tape", Severity: Caution, Source: practice, Says: "Nothing is sanded against tape.",
			Why: "The paper lifts the tape's edge and dulls the first colour beside it; paint then creeps under.", Instead: "Scuff before the tape is on; the next coat of the same paint goes on as soon as the last takes it.",
			broken: func(s *surface, n *next) bool { return n.is.abrades && s.overTape }},
	}
}

// seal puts a thin coat of dewaxed shellac in.
func seal(why string) func(*surface, *next) []Step {
	return func(s *surface, _ *next) []Step {
		p := s.palette.tie()
		return []Step{{Kind: SealCoat, Product: p, Wait: p.Recoat, Why: why}}
	}
}
