package picture

import (
	"image"
	"image/draw"
)

// upright turns a picture as its orientation says (CIPA DC-008, 4.6.5: 1 upright, 2 mirrored, 3 upside
// down, 4 both, 5 to 8 the same on its side), and puts white behind what can be seen through.
func upright(img image.Image, orientation int) image.Image {
	if orientation == 1 && plain(img) {
		return img
	}
	if out := turnPlanes(img, orientation); out != nil {
		return out
	}
	w, h := img.Bounds().Dx(), img.Bounds().Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if orientation >= 5 {
		out = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	origin, right, down := steps(orientation, w, h, out.Stride, 4)
	rows(img, func(y int, row []byte) {
		at := origin + y*down
		for x := range w {
			copy(out.Pix[at:at+4], row[4*x:4*x+4])
			at += right
		}
	})
	return out
}

// plain reports the pictures that JPEG is written from as they are.
func plain(img image.Image) bool {
	switch img.(type) {
	case *image.YCbCr, *image.Gray:
		return true
	}
	return false
}

// steps says where in the turned picture the first pixel is, and how far it is from one to its right
// and to the one below it, in bytes, of which a
// pixel has px.
func steps(orientation, w, h, stride, px int) (origin, right, down int) {
	switch orientation {
	case 2:
		return (w - 1) * px, -px, stride
	case 3:
		return (w-1)*px + (h-1)*stride, -px, -stride
	case 4:
		return (h - 1) * stride, px, -stride
	case 5:
		return 0, stride, px
	case 6:
		return (h - 1) * px, stride, -px
	case 7:
		return (h-1)*px + (w-1)*stride, -stride, -px
	case 8:
		return (w - 1) * stride, -stride, px
	}
	return 0, px, stride
}

// rows gives a picture row by row, as RGBA on white: no second picture is needed for that.
func rows(img image.Image, visit func(y int, row []byte)) {
	b := img.Bounds()
	row := image.NewRGBA(image.Rect(0, 0, b.Dx(), 1))
	for y := range b.Dy() {
		draw.Draw(row, row.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(row, row.Rect, img, image.Pt(b.Min.X, b.Min.Y+y), draw.Over)
		visit(y, row.Pix)
	}
}
