package finish

// next is a step with what the rules ask of it, looked up once.
type next struct {
	Step
	is   traits
	film chemistry // of what it lays
}

// traits are what a kind of step is to the rules.
type traits struct {
	layer   bool // leaves a film or a colour
	soaks   bool // colours wood by soaking into it, or into its pores
	stains  bool // colours the wood itself
	abrades bool
	touches bool // works on the surface itself, or leaves something on it
	handles bool // grips the film, presses it and lays it on something
	dry     bool // makes dust
}

func coming(st Step) *next {
	n := &next{Step: st, is: traitsOf(st.Kind)}
	if n.is.layer || st.Kind == SpotSeal {
		n.film = families[st.Product.Family]
	}
	return n
}

func traitsOf(k Kind) traits {
	t := traits{layer: layers[k], soaks: soaks[k], stains: inWood(k), abrades: k == Sand || k == ScuffSand, handles: handles[k], dry: k.makesDust()}
	t.touches = t.layer || t.dry || worked[k]
	return t
}

// worked are the kinds that work on a surface without leaving a film on it, or dust alone.
var worked = map[Kind]bool{RaiseGrain: true, SpotSeal: true, Mask: true, Fill: true}

// handles are the kinds in which the film is gripped, pressed and laid on something.
var handles = map[Kind]bool{HardwareOn: true, WrapUp: true}

// inWood reports a kind that colours the wood itself.
func inWood(k Kind) bool { return k == StainCoat || k == Ebonise }
