package words

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// alike are reasons that several services give in words of their own, and that come to one meaning in all of them:
// in another language one sentence stands for each.
var alike = strings.Fields(`AREA_MISSING BELIEF_MISSING CAUTION_UNKNOWN CONTENTION CORRECTION_CHANGES_NOTHING DATE_ABSURD DEFECT_UNKNOWN FIELD_UNKNOWN
	FROM_AFTER_TO GUESS_UPSIDE_DOWN INTERNAL INVALID_FIELD INVALID_NAME LOT_NOT_FOUND METHOD_NOT_ALLOWED NOT_STATED NOT_YOURS NO_READINGS OUT_OF_RANGE PARTS_DIFFER
	PARTS_MISSING PART_TWICE PART_UNKNOWN PHOTO_TOO_BIG PIECE_IS_COMMISSION PIECE_NOT_FOUND PIECE_SCRAPPED PIECE_SOLD PIECE_TWICE POSITION_UNKNOWN
	PRICE_UNCHANGED PRODUCT_NOT_FOUND QUANTITY_MISSING QUANTITY_NOT_POSITIVE REVIEW_NOT_FOUND SALE_NOT_FOUND SERVICE_STOPPING SIGN_IN_NEEDED
	STAGES_GO_ROUND STAGE_NOT_FOUND STAGE_UNKNOWN TIME_BEFORE_INTAKE TIME_IN_FUTURE TIME_MALFORMED TIME_TOO_OLD TOO_BUSY UNIT_OF_ANOTHER_MEASURE`)

var refused = regexp.MustCompile("fault\\.New\\(\\s*[\\w.]+,\\s*\"([A-Z_0-9]+)\",\\s*(\"(?:[^\"\\\\]|\\\\.)*\"|`[^`]*`)?")

// saidBy reads by which words each part of the suite gives each reason: a service, or what all of them share.
func saidBy(t *testing.T) map[string]map[string]map[string]bool {
	t.Helper()
	out, root := map[string]map[string]map[string]bool{}, filepath.Join("..", "..", "..", "..")
	for _, top := range []string{"services", "pkg"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || filepath.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") {
				return err
			}
			b, err := os.ReadFile(name)
			part := top
			if path, _ := filepath.Rel(filepath.Join(root, top), name); top == "services" {
				part, _, _ = strings.Cut(filepath.ToSlash(path), "/")
			}
			for _, m := range refused.FindAllStringSubmatch(string(b), -1) {
				if out[m[1]] == nil {
					out[m[1]] = map[string]map[string]bool{}
				}
				if out[m[1]][part] == nil {
					out[m[1]][part] = map[string]bool{}
				}
				out[m[1]][part][m[2]] = true
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// One reason has one meaning: where two parts of the suite give the same one in different words, somebody has seen
// that one sentence can stand for both.
func TestReasons_HaveOneMeaning(t *testing.T) {
	all := saidBy(t)
	several := map[string]bool{}
	for reason, parts := range all {
		words := map[string]bool{}
		for _, said := range parts {
			maps.Copy(words, said)
		}
		if len(parts) < 2 || len(words) < 2 {
			continue
		}
		several[reason] = true
		if !slices.Contains(alike, reason) {
			t.Errorf("%s is given by %v in words of their own: %v; give what means something else a reason of its own",
				reason, slices.Sorted(maps.Keys(parts)), slices.Sorted(maps.Keys(words)))
		}
	}
	for _, reason := range alike {
		if !several[reason] {
			t.Errorf("%s is given in one way only; it need not be listed", reason)
		}
	}
	if len(all) < 200 {
		t.Errorf("only %d reasons were found", len(all))
	}
}
