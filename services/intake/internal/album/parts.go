package album

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"gocloud.dev/blob"
	"gocloud.dev/gcerrors"
)

// Parts of files that are not whole yet are kept beside pictures, each under the name of its upload and
// the byte at which it begins.
const (
	partsPrefix = "parts/"
	partSuffix  = ".part"
)

func partKey(upload string, at int) string {
	return fmt.Sprintf("%s%s-%010d%s", partsPrefix, upload, at, partSuffix)
}

// part is a kept part of a file.
type part struct {
	key      string
	at, size int
}

// KeepPart keeps what a file has from a byte on. Faults: PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) KeepPart(ctx context.Context, upload string, at int, b []byte) error {
	if err := a.Kept(); err != nil {
		return err
	}
	if err := a.bucket.WriteAll(ctx, partKey(upload, at), b, nil); err != nil {
		return unreachable(err)
	}
	return nil
}

// KeptBytes is how much of a file is kept from its beginning on. Faults: PHOTOS_NOT_KEPT,
// PHOTOS_UNREACHABLE.
func (a Album) KeptBytes(ctx context.Context, upload string) (n int, err error) {
	parts, err := a.parts(ctx, upload)
	for _, p := range parts {
		n += p.size
	}
	return n, err
}

// KeptFile gives them. Faults: PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) KeptFile(ctx context.Context, upload string) (file []byte, err error) {
	parts, err := a.parts(ctx, upload)
	for _, p := range parts {
		if err != nil {
			break
		}
		var b []byte
		if b, err = a.bucket.ReadAll(ctx, p.key); err != nil {
			return nil, unreachable(err)
		}
		file = append(file, b...)
	}
	return file, err
}

// parts are those of a file, from its beginning on up to where one is missing.
func (a Album) parts(ctx context.Context, upload string) (parts []part, err error) {
	if err := a.Kept(); err != nil {
		return nil, err
	}
	end := 0
	err = a.each(ctx, partsPrefix+upload+"-", func(o *blob.ListObject) error {
		at, err := strconv.Atoi(strings.TrimSuffix(o.Key[len(partsPrefix)+len(upload)+1:], partSuffix))
		if err == nil && at == end {
			parts, end = append(parts, part{o.Key, at, int(o.Size)}), end+int(o.Size)
		}
		return nil
	})
	return parts, err
}

// each gives what is kept under a prefix, in the order of its keys.
func (a Album) each(ctx context.Context, prefix string, fn func(*blob.ListObject) error) error {
	list := a.bucket.List(&blob.ListOptions{Prefix: prefix})
	for {
		o, err := list.Next(ctx)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = fn(o)
		}
		if err != nil {
			return unreachable(err)
		}
	}
}

// DropParts deletes what is kept of a file. Faults: PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) DropParts(ctx context.Context, upload string) error {
	if err := a.Kept(); err != nil {
		return err
	}
	return a.each(ctx, partsPrefix+upload+"-", func(o *blob.ListObject) error { return a.drop(ctx, o.Key) })
}

// SweepParts deletes parts that were kept before a time. Faults: PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) SweepParts(ctx context.Context, before time.Time) error {
	if err := a.Kept(); err != nil {
		return err
	}
	return a.each(ctx, partsPrefix, func(o *blob.ListObject) error {
		if o.ModTime.Before(before) {
			return a.drop(ctx, o.Key)
		}
		return nil
	})
}

// drop deletes what may be gone already.
func (a Album) drop(ctx context.Context, key string) error {
	if err := a.bucket.Delete(ctx, key); err != nil && gcerrors.Code(err) != gcerrors.NotFound {
		return err
	}
	return nil
}
