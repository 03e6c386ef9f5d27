//go:build !unix

package suite

import "io/fs"

// owned takes a folder in a user's profile for theirs: only they can write there.
func owned(fs.FileInfo) bool { return true }
