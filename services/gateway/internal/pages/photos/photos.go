// Package photos takes pictures of pieces in and shows them.
//
//	form ─▶ POST /pieces/{tag}/photos ─▶ parts as they arrive ─▶ intake.UploadPhoto, a stream
//	  └─ by script in slices; one that was lost goes on from GET /photo-uploads/{request}
//	page ─▶ GET /photos/{id}/{size} ◀── intake.DownloadPhoto; it never changes, so a browser keeps it
//
// No picture is held here as a whole.
package photos

import (
	"embed"
	"errors"
	"io"
	"net/http"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

//go:embed *.js
var files embed.FS

// Page is the routes by which photos come and go.
func Page() web.Page {
	return web.Page{Files: files, Routes: map[string]web.Handler{
		"GET /photo-uploads/{request}": uploaded,
		"GET /photos/{id}/{size}":      show,
		"POST /pieces/{tag}/photos":    add,
		"POST /photos/{id}/describe":   describe,
		"POST /photos/{id}/remove":     remove,
	}}
}

// sizes are the words of an address.
var sizes = map[string]intakev1.Photo_Size{
	"full": intakev1.Photo_SIZE_FULL, "medium": intakev1.Photo_SIZE_MEDIUM, "thumbnail": intakev1.Photo_SIZE_THUMBNAIL,
}

var errNoSize = fault.New(fault.NotFound, "PHOTO_SIZE_UNKNOWN", "A photo is shown as full, medium or thumbnail.")

// kept lets the browser of whoever may see it keep a picture for a year: under one address it never changes.
const kept = "private, max-age=31536000, immutable"

func show(w http.ResponseWriter, a *web.Asked) error {
	size, known := sizes[a.PathValue("size")]
	if !known {
		return errNoSize
	}
	tag := `"` + a.PathValue("id") + "-" + a.PathValue("size") + `"`
	if a.Header.Get("If-None-Match") == tag {
		w.Header().Set("Cache-Control", kept)
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	stream, err := a.Kit.Suite.Photos.DownloadPhoto(a.Context(), &intakev1.DownloadPhotoRequest{Name: "photos/" + a.PathValue("id"), Size: size})
	if err != nil {
		return err
	}
	first, err := stream.Recv()
	if err != nil {
		return err
	}
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", kept)
	w.Header().Set("Content-Type", first.GetHeader().GetContentType())
	return pass(w, stream.Recv)
}

// pass writes what is left of a picture. One that breaks off in the middle ends the connection, so that
// the browser does not take it for whole.
func pass(w io.Writer, next func() (*intakev1.DownloadPhotoResponse, error)) error {
	for {
		r, err := next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			panic(http.ErrAbortHandler)
		}
		if _, err := w.Write(r.GetChunk()); err != nil {
			return nil // whoever left does not look at it
		}
	}
}

func describe(w http.ResponseWriter, a *web.Asked) error {
	moment, err := momentOf(a.Typed("moment"))
	if err != nil {
		return err
	}
	_, err = a.Kit.Suite.Photos.DescribePhoto(a.Context(), &intakev1.DescribePhotoRequest{RequestId: a.RequestID(),
		Photo: "photos/" + a.PathValue("id"), Moment: moment, Note: a.Typed("note")})
	if err != nil {
		return err
	}
	return a.After(w, a.Back(a.Typed("then")), "piece.photo.described")
}

func remove(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Photos.RemovePhoto(a.Context(), &intakev1.RemovePhotoRequest{RequestId: a.RequestID(),
		Photo: "photos/" + a.PathValue("id"), Reason: a.Typed("reason")})
	if err != nil {
		return err
	}
	return a.After(w, a.Back(a.Typed("then")), "piece.photo.removed")
}
