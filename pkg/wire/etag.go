package wire

import (
	"strconv"

	"tackfree/pkg/fault"
)

// Etag writes the version of what is read, for a change that must not overwrite another.
func Etag(version int64) string { return strconv.Quote(strconv.FormatInt(version, 10)) }

// CheckEtag refuses a change that was made from an older reading: ETAG_MISMATCH. An empty
// etag asks for no check.
func CheckEtag(etag string, version int64) error {
	if etag == "" || etag == Etag(version) {
		return nil
	}
	return fault.New(fault.Conflict, "ETAG_MISMATCH",
		"It was changed since you read it. Read it again and decide anew.").At("etag")
}
