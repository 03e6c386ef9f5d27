package picture

import (
	"image"

	"golang.org/x/image/draw"
)

// shrink makes a picture of at most side pixels either way; one that is small enough stays as it is.
// Whole multiples are averaged, so that grain and hair lines don't flicker; the rest, less than half,
// is drawn smaller.
func shrink(img image.Image, side int) image.Image {
	return scale(reduce(img, side), img.Bounds(), side)
}

// reduce averages a picture to no less than side pixels.
func reduce(img image.Image, side int) image.Image {
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	return average(img, min(max(w, h)/side, w, h))
}

// scale draws a picture as one of those bounds becomes when it is shrunk to side.
func scale(img image.Image, of image.Rectangle, side int) image.Image {
	long := max(of.Dx(), of.Dy())
	if long <= side {
		return img
	}
	out := image.NewRGBA(image.Rect(0, 0, max(1, of.Dx()*side/long), max(1, of.Dy()*side/long)))
	draw.ApproxBiLinear.Scale(out, out.Rect, img, img.Bounds(), draw.Src, nil)
	return out
}

// average makes one pixel of each square of k by k; what is over at the right and at the bottom, less
// than k, is left out.
func average(img image.Image, k int) image.Image {
	if k < 2 {
		return img
	}
	if out := averagePlanes(img, k); out != nil {
		return out
	}
	out := image.NewRGBA(image.Rect(0, 0, img.Bounds().Dx()/k, img.Bounds().Dy()/k))
	sums := make([]uint32, out.Stride)
	rows(img, func(y int, row []byte) {
		if y/k >= out.Rect.Dy() {
			return
		}
		addRow(sums, row, k)
		if y%k == k-1 {
			to := out.Pix[y/k*out.Stride:]
			for i := range sums {
				to[i] = uint8(sums[i] / uint32(k*k))
				sums[i] = 0
			}
		}
	})
	return out
}

// addRow adds k pixels of a row to each pixel of the sums.
func addRow(sums []uint32, row []byte, k int) {
	for x := 0; x < len(sums); x += 4 {
		for at := x * k; at < (x+4)*k; at += 4 {
			sums[x] += uint32(row[at])
			sums[x+1] += uint32(row[at+1])
			sums[x+2] += uint32(row[at+2])
			sums[x+3] += uint32(row[at+3])
		}
	}
}
