package suite

import (
	"net/url"
	"path/filepath"
)

// photosURL is where intake keeps photos: beside all else, if nothing else was said.
func (o Options) photosURL() (string, error) {
	if o.Photos != "" {
		return o.Photos, nil
	}
	dir, err := filepath.Abs(filepath.Join(o.Dir, "photos"))
	if err != nil {
		return "", err
	}
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(dir)}).String(), nil
}
