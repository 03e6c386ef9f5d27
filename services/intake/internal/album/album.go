// Package album keeps the files of pictures, each under what its bytes come to, so that one that is
// there is the right one and is never written over with another.
//
//	Put ─▶ bucket: a folder of this machine, whose files are on disk when Put returns; or a bucket elsewhere
//	Open ◀─┘   └─▶ Remove
//	KeepPart ─▶ parts of files that broke off on their way ─▶ KeptFile, for a day
//
// Which files are wanted the store knows; see server's sweep. Compiled in are folders and buckets that speak S3, which
// nearly all that are for rent and the servers for one's own machines do; another kind is one import beside fileblob.
package album

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"gocloud.dev/blob"
	"gocloud.dev/blob/fileblob"
	_ "gocloud.dev/blob/s3blob" // s3://bucket?region=…; credentials as in AWS's own programs
	"gocloud.dev/gcerrors"

	"tackfree/pkg/fault"
	"tackfree/services/intake/internal/picture"
)

// ContentType is that of all pictures.
const ContentType = "image/jpeg"

// Size is how much of a picture is wanted.
type Size string

// The sizes that are kept.
const (
	Full      Size = "full"
	Medium    Size = "medium"
	Thumbnail Size = "thumbnail"
)

// Album keeps files; the zero one was given no place for them and refuses: PHOTOS_NOT_KEPT.
type Album struct {
	bucket *blob.Bucket
	dir    string // of a folder of this machine, else empty
}

// At opens the album at a bucket's URL: file:///folder, which is made, or one of a scheme that is linked
// in. Empty: no place.
func At(ctx context.Context, place string) (Album, error) {
	if place == "" {
		return Album{}, nil
	}
	u, err := url.Parse(place)
	if err != nil || u.Scheme == "" {
		return Album{}, fmt.Errorf("%q is no place to keep photos in, such as file:///srv/photos", place)
	}
	if u.Scheme == fileblob.Scheme {
		return folder(u.Path)
	}
	bucket, err := blob.OpenBucket(ctx, place)
	if err != nil {
		return Album{}, fmt.Errorf("place to keep photos in: %w", err)
	}
	return Album{bucket: bucket}, nil
}

// folder opens a folder that only this user can look into. Files are made beside where they shall be,
// for only within a file system do they get there whole.
func folder(dir string) (Album, error) {
	bucket, err := fileblob.OpenBucket(dir, &fileblob.Options{CreateDir: true, DirFileMode: 0o700, NoTempDir: true, Metadata: fileblob.MetadataDontWrite})
	if err != nil {
		return Album{}, fmt.Errorf("folder to keep photos in: %w", err)
	}
	return Album{bucket, dir}, sweepParts(dir)
}

// sweepParts removes what is left of files whose writing broke off a day ago or earlier; what another
// copy of the service writes at this moment is younger.
func sweepParts(dir string) error {
	files, err := filepath.Glob(filepath.Join(dir, "*", "*.jpg.*.tmp"))
	parts, _ := filepath.Glob(filepath.Join(dir, "*", "*"+partSuffix+".*.tmp"))
	for _, part := range append(files, parts...) {
		info, statErr := os.Stat(part)
		if statErr == nil && time.Since(info.ModTime()) > 24*time.Hour {
			err = errors.Join(err, os.Remove(part))
		}
	}
	return err
}

// Close lets go of the bucket.
func (a Album) Close() error {
	if a.bucket == nil {
		return nil
	}
	return a.bucket.Close()
}

// Kept is nil where there is a place for files. Fault: PHOTOS_NOT_KEPT.
func (a Album) Kept() error {
	if a.bucket != nil {
		return nil
	}
	return fault.New(fault.Precondition, "PHOTOS_NOT_KEPT", "This shop has no place for photos; whoever runs it gives intake one with --photos-url.")
}

// Put writes a picture in all its sizes. When it returns it survives a power cut. Faults:
// PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) Put(ctx context.Context, p picture.Picture) error {
	if err := a.Kept(); err != nil {
		return err
	}
	sha := p.SHA256()
	for size, b := range map[Size][]byte{Full: p.Full, Medium: p.Medium, Thumbnail: p.Thumbnail} {
		if err := a.bucket.WriteAll(ctx, key(sha, size), b, &blob.WriterOptions{ContentType: ContentType}); err != nil {
			return unreachable(err)
		}
		if err := a.sync(key(sha, size)); err != nil {
			return unreachable(err)
		}
	}
	return nil
}

// key is where a size of a picture is.
func key(sha256 string, size Size) string {
	return sha256[:2] + "/" + sha256 + "-" + string(size) + ".jpg"
}

// sync brings a file of a folder, and that it is there, to disk.
func (a Album) sync(key string) error {
	if a.dir == "" {
		return nil
	}
	file := filepath.Join(a.dir, filepath.FromSlash(key))
	return errors.Join(toDisk(file), toDisk(filepath.Dir(file)), toDisk(a.dir))
}

func toDisk(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// Open reads a size of a picture; whoever gets it closes it. Faults: PHOTO_FILE_MISSING,
// PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) Open(ctx context.Context, sha256 string, size Size) (*blob.Reader, error) {
	if err := a.Kept(); err != nil {
		return nil, err
	}
	r, err := a.bucket.NewReader(ctx, key(sha256, size), nil)
	if gcerrors.Code(err) == gcerrors.NotFound {
		return nil, fault.New(fault.NotFound, "PHOTO_FILE_MISSING",
			"The file of this photo is not where photos are kept. Put it back from a backup of that place; or remove the photo and take it again.").Because(err)
	}
	if err != nil {
		return nil, unreachable(err)
	}
	return r, nil
}

// Remove deletes a picture in all its sizes; what is not there is as it should be. Faults:
// PHOTOS_NOT_KEPT, PHOTOS_UNREACHABLE.
func (a Album) Remove(ctx context.Context, sha256 string) error {
	if err := a.Kept(); err != nil {
		return err
	}
	for _, size := range []Size{Full, Medium, Thumbnail} {
		if err := a.drop(ctx, key(sha256, size)); err != nil {
			return unreachable(err)
		}
	}
	return nil
}

func unreachable(err error) error {
	return fault.New(fault.Unavailable, "PHOTOS_UNREACHABLE", "The place where photos are kept cannot be reached or is full; nothing was changed. Try again shortly.").Because(err)
}
