package picture

import "image"

// plane is one component of a picture as JPEG has it: brightness, or one of the two of colour, which
// may be coarser. Pictures are turned and shrunk plane by plane: to make pixels of them first takes
// longer than all the rest.
type plane struct {
	pix          []byte
	stride, w, h int
}

// planesOf gives a picture's components, brightness first; none of a picture that has no planes.
func planesOf(img image.Image) (planes []plane, ratio image.YCbCrSubsampleRatio) {
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	switch m := img.(type) {
	case *image.Gray:
		return []plane{{m.Pix, m.Stride, w, h}}, 0
	case *image.YCbCr:
		across, down := coarseness(m.SubsampleRatio)
		cw, ch := (w+across-1)/across, (h+down-1)/down
		return []plane{{m.Y, m.YStride, w, h}, {m.Cb, m.CStride, cw, ch}, {m.Cr, m.CStride, cw, ch}}, m.SubsampleRatio
	}
	return nil, 0
}

// coarseness is over how many pixels a sample of colour reaches.
func coarseness(ratio image.YCbCrSubsampleRatio) (across, down int) {
	switch ratio {
	case image.YCbCrSubsampleRatio422:
		return 2, 1
	case image.YCbCrSubsampleRatio420:
		return 2, 2
	case image.YCbCrSubsampleRatio440:
		return 1, 2
	case image.YCbCrSubsampleRatio411:
		return 4, 1
	case image.YCbCrSubsampleRatio410:
		return 4, 2
	}
	return 1, 1
}

// assemble makes a picture of planes.
func assemble(planes []plane, ratio image.YCbCrSubsampleRatio) image.Image {
	bounds := image.Rect(0, 0, planes[0].w, planes[0].h)
	if len(planes) == 1 {
		return &image.Gray{Pix: planes[0].pix, Stride: planes[0].stride, Rect: bounds}
	}
	return &image.YCbCr{Y: planes[0].pix, Cb: planes[1].pix, Cr: planes[2].pix,
		YStride: planes[0].stride, CStride: planes[1].stride, SubsampleRatio: ratio, Rect: bounds}
}

// onItsSide is the ratio of a picture that was turned by a quarter; false: there is no such ratio.
func onItsSide(ratio image.YCbCrSubsampleRatio) (image.YCbCrSubsampleRatio, bool) {
	switch ratio {
	case image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio420:
		return ratio, true
	case image.YCbCrSubsampleRatio422:
		return image.YCbCrSubsampleRatio440, true
	case image.YCbCrSubsampleRatio440:
		return image.YCbCrSubsampleRatio422, true
	}
	return ratio, false
}

// turnPlanes turns a picture as upright does; nil: it has no planes, or samples of colour that would
// reach over other pixels than before.
func turnPlanes(img image.Image, orientation int) image.Image {
	planes, ratio := planesOf(img)
	across, down := coarseness(ratio)
	if planes == nil || planes[0].w%across != 0 || planes[0].h%down != 0 {
		return nil
	}
	if orientation >= 5 {
		var ok bool
		if ratio, ok = onItsSide(ratio); !ok {
			return nil
		}
	}
	for i, p := range planes {
		planes[i] = p.turn(orientation)
	}
	return assemble(planes, ratio)
}

// turnedAtOnce is the side of the squares in which a plane is turned, so that what is read and what is
// written both stay near.
const turnedAtOnce = 32

func (p plane) turn(orientation int) plane {
	out := plane{w: p.w, h: p.h}
	if orientation >= 5 {
		out.w, out.h = p.h, p.w
	}
	out.stride, out.pix = out.w, make([]byte, out.w*out.h)
	origin, right, down := steps(orientation, p.w, p.h, out.stride, 1)
	for top := 0; top < p.h; top += turnedAtOnce {
		for left := 0; left < p.w; left += turnedAtOnce {
			for y := top; y < min(top+turnedAtOnce, p.h); y++ {
				at := origin + y*down + left*right
				for _, sample := range p.pix[y*p.stride+left : y*p.stride+min(left+turnedAtOnce, p.w)] {
					out.pix[at] = sample
					at += right
				}
			}
		}
	}
	return out
}

// averagePlanes is average of a picture that has planes; nil of another.
func averagePlanes(img image.Image, k int) image.Image {
	planes, ratio := planesOf(img)
	if planes == nil {
		return nil
	}
	w, h := planes[0].w/k, planes[0].h/k
	across, down := coarseness(ratio)
	for i, p := range planes {
		if i == 0 {
			planes[i] = p.average(w, h, k, 1, 1)
			continue
		}
		planes[i] = p.average(w, h, k, across, down)
	}
	return assemble(planes, image.YCbCrSubsampleRatio444)
}

// average makes one sample of what lies over each square of k by k pixels, where one of its own lies
// over across by down.
func (p plane) average(w, h, k, across, down int) plane {
	out := plane{make([]byte, w*h), w, w, h}
	sums := make([]uint32, w)
	columns := spans(w, k, across)
	for y, rows := range spans(h, k, down) {
		clear(sums)
		for from := rows.from; from < rows.to; from++ {
			row := p.pix[from*p.stride : from*p.stride+p.w]
			for x, c := range columns {
				for _, sample := range row[c.from:c.to] {
					sums[x] += uint32(sample)
				}
			}
		}
		for x, c := range columns {
			out.pix[y*w+x] = uint8(sums[x] / uint32((c.to-c.from)*(rows.to-rows.from)))
		}
	}
	return out
}

// span are the samples that lie over k pixels.
type span struct{ from, to int }

// spans are those of the first k pixels, the next and so on, n of them, where a sample lies over coarse
// pixels; each one sample at least.
func spans(n, k, coarse int) []span {
	all := make([]span, n)
	for i := range all {
		from := i * k / coarse
		all[i] = span{from, max(from+1, (i+1)*k/coarse)}
	}
	return all
}
