package server

import (
	"strings"

	"tackfree/pkg/fault"
)

// stationWord reads stations/{word}.
func stationWord(field, name string) (string, error) {
	word, ok := strings.CutPrefix(name, "stations/")
	if !ok || word == "" || len(word) > 60 {
		return "", fault.New(fault.Invalid, "INVALID_NAME", "%s is not a station's name, such as stations/booth.", field).At(field)
	}
	return word, nil
}
