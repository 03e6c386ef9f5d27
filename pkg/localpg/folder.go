package localpg

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// prepare makes the folders and sees to it that the account can use them.
func (l layout) prepare(a account) error {
	if err := makeRoot(l.root, a); err != nil {
		return err
	}
	for _, dir := range []string{l.run, l.log} {
		if err := ownFolder(dir, a); err != nil {
			return err
		}
	}
	return l.adoptData(a)
}

// makeRoot creates the cluster root. When postgres runs as another user than
// we do, the root stays ours and only lets the other user's group pass: whoever
// owned it could plant symlinks for us to follow.
func makeRoot(root string, a account) error {
	if err := makeParents(filepath.Dir(root), a); err != nil {
		return err
	}
	err := os.Mkdir(root, 0o700)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("creating the cluster folder: %w", err)
	}
	return admit(root, a)
}

// admit opens an existing root to the account, if it is not open already.
func admit(root string, a account) error {
	info, err := os.Stat(root)
	if err != nil {
		return fmt.Errorf("looking at the cluster folder: %w", err)
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is a file, not a folder; Postgres needs a folder for its data", root)
	}
	if a.mayEnter(info) {
		return nil
	}
	if err := os.Chown(root, -1, a.gid); err != nil {
		return fmt.Errorf("opening the cluster folder to user %s: %w", a.name, err)
	}
	if err := os.Chmod(root, info.Mode().Perm()|0o010); err != nil {
		return fmt.Errorf("opening the cluster folder to user %s: %w", a.name, err)
	}
	return nil
}

// makeParents creates the missing folders above the root, passable when
// another user has to get through them. Existing ones are left as they are.
func makeParents(dir string, a account) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	if err := makeParents(filepath.Dir(dir), a); err != nil {
		return err
	}
	mode := fs.FileMode(0o700)
	if a.switched {
		mode = 0o711
	}
	if err := os.Mkdir(dir, mode); err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("creating the folders above the cluster: %w", err)
	}
	return os.Chmod(dir, mode) // the umask may have taken the x that we need
}

// ownFolder makes a folder of mode 0700 that belongs to the account. It never
// follows a symlink, which would hand out a folder of somebody else.
func ownFolder(dir string, a account) error {
	err := os.Mkdir(dir, 0o700)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("creating a cluster folder: %w", err)
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return fmt.Errorf("looking at a cluster folder: %w", err)
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder; remove it", dir)
	}
	return a.own(dir)
}

// adoptData gives an existing cluster to the account if it belongs to us, as
// after it was restored from a copy by root.
func (l layout) adoptData(a account) error {
	info, err := os.Lstat(l.data)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("looking at the existing cluster: %w", err)
	}
	if !a.switched || ownerOf(info) == a.uid {
		return nil
	}
	return filepath.WalkDir(l.data, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return fmt.Errorf("giving the cluster to user %s: %w", a.name, err)
		}
		return a.own(path)
	})
}
