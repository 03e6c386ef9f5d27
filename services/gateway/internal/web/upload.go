package web

import (
	"crypto/hmac"
	"io"
	"mime"
	"mime/multipart"
)

// isUpload reports whether a form brings files.
func (a *Asked) isUpload() bool {
	kind, _, _ := mime.ParseMediaType(a.Header.Get("Content-Type"))
	return kind == "multipart/form-data"
}

// checkUpload refuses an upload that does not begin with the session's key. What comes after the key is
// left to the handler, which reads it as it arrives: no file is held here.
func (a *Asked) checkUpload() error {
	parts, err := a.MultipartReader()
	if err != nil {
		return errNotAForm
	}
	first, err := parts.NextPart()
	if err != nil {
		return errNotAForm
	}
	given, err := io.ReadAll(io.LimitReader(first, 200))
	if err != nil {
		return errNotAForm
	}
	if first.FormName() != formField || !hmac.Equal(given, []byte(a.FormKey())) {
		return errStaleForm
	}
	a.parts = parts
	return nil
}

// Parts gives what an upload brings after its key, one part after the other. Fault: FORM_UNREADABLE.
func (a *Asked) Parts() (*multipart.Reader, error) {
	if a.parts != nil {
		return a.parts, nil
	}
	parts, err := a.MultipartReader() // a script gave the key in a header
	if err != nil {
		return nil, errNotAForm
	}
	return parts, nil
}
