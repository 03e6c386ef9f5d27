package film

import "strconv"

// Units of the drawing: a tenth of what is a pixel where it is shown 320 wide.
const (
	Width   = 3200
	gutter  = 420  // for numbers, at the left
	filmsAt = 900  // how high all films together are at most
	perUm   = 12   // how high a micron is at most, so that one thin coat is no wall
	woodAt  = 500  // how high the wood is drawn
	apart   = 170  // between two numbers
	head    = 140  // room above
	feather = 1100 // how far the films are sanded back at the right, all together
	step    = 110  // and one from the next, at most
	deepest = 260  // how far the first colour goes into the wood
)

// Band is a layer's place in the drawing. The films end one before the other at the right, as sanded back.
type Band struct {
	Layer
	X, Y, W, H int
	// Slope is how far its lower edge goes beyond its upper one.
	Slope int
	// LabelX, LabelY is where its number stands; MiddleY is what that belongs to.
	LabelX, LabelY, MiddleY int
}

// Points is the band as the points of a polygon.
func (b Band) Points() string {
	at := func(x, y int) string { return strconv.Itoa(x) + "," + strconv.Itoa(y) }
	return at(b.X, b.Y) + " " + at(b.X+b.W, b.Y) + " " + at(b.X+b.W+b.Slope, b.Y+b.H) + " " + at(b.X, b.Y+b.H)
}

// Drawing is a cross-section of a part.
type Drawing struct {
	Width, Height int
	Ground        Ground
	WoodX, WoodY  int
	WoodW, WoodH  int
	Grain         []string // paths
	Bands         []Band
}

// Draw places the layers on the wood, thick as they are to each other.
func Draw(g Ground, layers []Layer) Drawing {
	d := Drawing{Width: Width, Height: max(head+filmsAt+woodAt, head+(len(layers)+1)*apart), Ground: g}
	d.WoodX, d.WoodW, d.WoodH = gutter, Width-gutter, woodAt
	d.WoodY = d.Height - woodAt
	d.Grain = grain(d)
	place(&d, layers)
	number(d.Bands, d.Height)
	return d
}

// scale is how many units a micron is high: one for all films of a part, so that they compare.
func scale(total float64) float64 {
	if total <= 0 {
		return perUm
	}
	return min(perUm, filmsAt/total)
}

func place(d *Drawing, layers []Layer) {
	films, total := 0, 0.0
	for _, l := range layers {
		if !l.Soaks {
			films++
			total += l.Microns
		}
	}
	by, back := scale(total), min(step, feather/max(films, 1))
	below, height, soaked := 0, 0.0, 0
	for _, l := range layers {
		b := Band{Layer: l, X: d.WoodX, W: d.WoodW}
		if l.Soaks {
			b.Y, b.H = d.WoodY, max(deepest-60*soaked, 60)
			soaked++
		} else {
			// The upper edge is rounded, not the height: so all heights add up to the whole.
			height += l.Microns * by
			top := d.WoodY - int(height+0.5)
			b.Y, b.H = top, d.WoodY-below-top
			below = d.WoodY - top
			b.W -= back * (countFilms(d.Bands) + 1)
			b.Slope = back / 2
		}
		b.MiddleY = b.Y + b.H/2
		d.Bands = append(d.Bands, b)
	}
}

func countFilms(bands []Band) (n int) {
	for _, b := range bands {
		if !b.Soaks {
			n++
		}
	}
	return n
}

// number gives each band a place for its number, the topmost first, none nearer to the next than apart.
func number(bands []Band, height int) {
	order := byHeight(bands)
	least := head - apart/2
	for i, at := range order {
		b := &bands[at]
		b.LabelX = gutter / 3
		// Those below need room too.
		most := height - (len(order)-i)*apart + apart/2
		b.LabelY = min(max(b.MiddleY, least), most)
		least = b.LabelY + apart
	}
}

// byHeight gives the bands' places from the top of the drawing down.
func byHeight(bands []Band) []int {
	var order []int
	for i := len(bands) - 1; i >= 0; i-- {
		if !bands[i].Soaks {
			order = append(order, i)
		}
	}
	for i := len(bands) - 1; i >= 0; i-- { // the first colour goes deepest, and its middle is the lowest
		if bands[i].Soaks {
			order = append(order, i)
		}
	}
	return order
}

// grain draws lines of the wood that are the same each time.
func grain(d Drawing) (paths []string) {
	for i := range 5 {
		y := d.WoodY + 70 + i*95
		sway := 30 - 15*(i%3)
		x0, x1 := d.WoodX, d.WoodX+d.WoodW
		third := d.WoodW / 3
		paths = append(paths, "M"+strconv.Itoa(x0)+" "+strconv.Itoa(y)+"C"+strconv.Itoa(x0+third)+" "+strconv.Itoa(y-sway)+" "+
			strconv.Itoa(x0+2*third)+" "+strconv.Itoa(y+sway)+" "+strconv.Itoa(x1)+" "+strconv.Itoa(y-sway/2))
	}
	return paths
}
