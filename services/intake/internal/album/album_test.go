package album_test

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"io"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
	_ "gocloud.dev/blob/memblob" // a bucket that is no folder

	"tackfree/pkg/fault"
	"tackfree/services/intake/internal/album"
	"tackfree/services/intake/internal/picture"
)

func clean(t *testing.T, w int) picture.Picture {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, 400))); err != nil {
		t.Fatal(err)
	}
	p, err := picture.Clean(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func open(t *testing.T, place string) album.Album {
	t.Helper()
	a, err := album.At(t.Context(), place)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = a.Close() })
	return a
}

func read(t *testing.T, a album.Album, sha string, size album.Size) ([]byte, error) {
	t.Helper()
	r, err := a.Open(t.Context(), sha, size)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }()
	return io.ReadAll(r)
}

// s3Bucket is the URL of an empty bucket of a server on this machine that speaks S3.
func s3Bucket(t *testing.T) string {
	t.Helper()
	backend := s3mem.New()
	if err := backend.CreateBucket("photos"); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(gofakes3.New(backend).Server())
	t.Cleanup(server.Close)
	t.Setenv("AWS_ACCESS_KEY_ID", "shop")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "secret")
	return "s3://photos?region=us-east-1&use_path_style=true&endpoint=" + url.QueryEscape(server.URL)
}

// A bucket that nobody made, and a server that is gone: a sentence, and nothing else.
func TestAlbum_S3Gone(t *testing.T) {
	place := s3Bucket(t)
	for _, elsewhere := range []string{strings.Replace(place, "//photos", "//nobodys", 1), "s3://photos?region=us-east-1&use_path_style=true&endpoint=http%3A%2F%2F127.0.0.1%3A1"} {
		a := open(t, elsewhere)
		if err := a.Put(t.Context(), clean(t, 500)); !fault.Is(err, "PHOTOS_UNREACHABLE") {
			t.Errorf("Put at %s = %v, want PHOTOS_UNREACHABLE", elsewhere, err)
		}
	}
}

func TestAlbum_PutOpenRemove(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "photos")
	folder, bucket, s3 := open(t, "file://"+dir), open(t, "mem://"), s3Bucket(t)
	for name, c := range map[string]struct{ a, another album.Album }{
		"Folder": {folder, open(t, "file://"+dir)}, "Bucket": {bucket, bucket}, "S3": {open(t, s3), open(t, s3)},
	} {
		t.Run(name, func(t *testing.T) {
			one, two := clean(t, 500), clean(t, 600)
			for _, p := range []picture.Picture{one, one, two} { // what is there may be put again
				if err := c.a.Put(t.Context(), p); err != nil {
					t.Fatal(err)
				}
			}
			for size, want := range map[album.Size][]byte{album.Full: one.Full, album.Medium: one.Medium, album.Thumbnail: one.Thumbnail} {
				if got, err := read(t, c.another, one.SHA256(), size); err != nil || !bytes.Equal(got, want) {
					t.Errorf("Open(%s) = %d bytes, %v, want %d", size, len(got), err, len(want))
				}
			}
			for range 2 { // what is gone may be removed
				if err := c.a.Remove(t.Context(), one.SHA256()); err != nil {
					t.Errorf("Remove = %v", err)
				}
			}
			for _, size := range []album.Size{album.Full, album.Medium, album.Thumbnail} {
				if _, err := read(t, c.a, one.SHA256(), size); !fault.Is(err, "PHOTO_FILE_MISSING") {
					t.Errorf("Open(%s) of what was removed = %v, want PHOTO_FILE_MISSING", size, err)
				}
			}
			if got, err := read(t, c.a, two.SHA256(), album.Full); err != nil || !bytes.Equal(got, two.Full) {
				t.Errorf("another picture went with it: %v", err)
			}
		})
	}
}

// Others of the machine do not look at clients' homes.
func TestAlbum_FolderIsPrivate(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "photos")
	open(t, "file://"+dir)
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("the folder has mode %v, %v, want none for others", info.Mode(), err)
	}
}

func TestAlbum_NoPlace(t *testing.T) {
	a, p := open(t, ""), clean(t, 500)
	_, openErr := a.Open(t.Context(), p.SHA256(), album.Full)
	for what, err := range map[string]error{"Put": a.Put(t.Context(), p), "Open": openErr, "Remove": a.Remove(t.Context(), p.SHA256())} {
		if !fault.Is(err, "PHOTOS_NOT_KEPT") {
			t.Errorf("%s = %v, want PHOTOS_NOT_KEPT", what, err)
		}
	}
	for _, place := range []string{"photos", "/srv/photos", "nowhere://photos", "file:///dev/null", "://"} {
		if _, err := album.At(t.Context(), place); err == nil {
			t.Errorf("At(%q) = nil", place)
		}
	}
}

func TestAlbum_PlaceThatIsGone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "photos")
	a := open(t, "file://"+dir)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := a.Put(ctx, clean(t, 500)); !fault.Is(err, "PHOTOS_UNREACHABLE") {
		t.Errorf("Put = %v, want PHOTOS_UNREACHABLE", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*", "*")); len(left) > 0 {
		t.Errorf("it left %v", left)
	}
}

// What broke off while it was written is cleared away, once nobody can be at it.
func TestAlbum_ClearsBrokenParts(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "ab"), 0o700); err != nil {
		t.Fatal(err)
	}
	old, young := filepath.Join(dir, "ab", "abc-full.jpg.1.tmp"), filepath.Join(dir, "ab", "abc-full.jpg.2.tmp")
	for _, f := range []string{old, young} {
		if err := os.WriteFile(f, []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	yesterday := time.Now().Add(-25 * time.Hour)
	if err := os.Chtimes(old, yesterday, yesterday); err != nil {
		t.Fatal(err)
	}
	open(t, "file://"+dir)
	if _, err := os.Stat(old); !os.IsNotExist(err) {
		t.Errorf("the old part is there: %v", err)
	}
	if _, err := os.Stat(young); err != nil {
		t.Errorf("the young part is gone: %v", err)
	}
}

// Parts of a file are its beginning up to the first that is missing, each for its own upload, for as long as they are wanted.
func TestAlbum_Parts(t *testing.T) {
	s3 := s3Bucket(t)
	for name, a := range map[string]album.Album{"Folder": open(t, "file://"+t.TempDir()), "S3": open(t, s3)} {
		t.Run(name, func(t *testing.T) {
			for _, p := range []struct {
				upload string
				at     int
				bytes  string
			}{{"ab", 0, "front"}, {"ab", 5, " of"}, {"ab", 9, "lost"}, {"abc", 0, "another"}, {"ab", 5, " of it"}} {
				if err := a.KeepPart(t.Context(), p.upload, p.at, []byte(p.bytes)); err != nil {
					t.Fatal(err)
				}
			}
			file, err := a.KeptFile(t.Context(), "ab")
			if n, kept := a.KeptBytes(t.Context(), "ab"); err != nil || kept != nil || string(file) != "front of it" || n != len(file) {
				t.Errorf("kept are %q, %d bytes, %v, %v", file, n, err, kept)
			}
			for _, c := range []struct {
				drop func() error
				left int
			}{
				{func() error { return a.SweepParts(t.Context(), time.Now().Add(-time.Hour)) }, 11},
				{func() error { return a.DropParts(t.Context(), "abc") }, 11},
				{func() error { return a.SweepParts(t.Context(), time.Now().Add(time.Hour)) }, 0},
			} {
				err := c.drop()
				if n, kept := a.KeptBytes(t.Context(), "ab"); err != nil || kept != nil || n != c.left {
					t.Errorf("%d bytes are left, %v, %v, want %d", n, err, kept, c.left)
				}
			}
			if n, err := a.KeptBytes(t.Context(), "abc"); err != nil || n != 0 {
				t.Errorf("of a dropped file %d bytes are left, %v", n, err)
			}
		})
	}
}
