package fault

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// named are fields whose own words are no words of people.
var named = map[string]string{
	"active_from": "first day at the shop", "active_to": "last day at the shop", "area_m2": "area", "billed": "amount billed",
	"confirm_time": "time of confirming", "csv": "file", "display_name": "name", "expires": "end", "fixed": "fixed amount",
	"from": "beginning", "from_time": "beginning", "holding_per_day": "cost of keeping it a day", "id": "id",
	"last_date": "last day", "first_date": "first day", "expire_date": "day it expires", "due_date": "day it is due", "expect_date": "day it is expected",
	"moved": "move", "paid": "amount paid", "parent": "thing it belongs to", "per_hour": "amount an hour", "quoted": "amount quoted",
	"recorded_since": "time since when", "since_time": "time since when", "sells_high": "highest selling price", "sells_low": "lowest selling price",
	"seen_time": "time it was seen", "list_time": "time of listing", "sale_time": "time of the sale", "refund_time": "time of the refund",
	"received_by": "person who received it", "target_per_hour": "target an hour", "labour_per_hour": "labour an hour", "to": "end", "to_time": "end",
	"travel_per_km": "travel a kilometre", "wet_film_um": "wet film",
}

// Word says a field of a contract as people do: sighting.asking_price is "asking price", and
// parts[1].length "length of parts, number 2". What is in words already stays as it is.
func Word(path string) string {
	at := strings.Split(path, ".")
	if strings.ContainsAny(path, " ,/-") {
		return path
	}
	if n := len(at) - 1; n > 0 && at[n] == "value" { // an amount's figure is the amount to whoever typed it
		at = at[:n]
	}
	last, number := counted(at[len(at)-1])
	word := worded(last) + number
	for i := len(at) - 2; i >= 0 && number == ""; i-- {
		if list, n := counted(at[i]); n != "" {
			return word + " of " + worded(list) + n
		}
	}
	return word
}

// counted parts the name of a list from which of its elements is meant, said from 1.
func counted(element string) (name, number string) {
	name, rest, is := strings.Cut(element, "[")
	n, err := strconv.Atoi(strings.TrimSuffix(rest, "]"))
	if !is || err != nil {
		return name, ""
	}
	return name, fmt.Sprintf(", number %d,", n+1)
}

func worded(field string) string {
	if word, is := named[field]; is {
		return word
	}
	return strings.ReplaceAll(field, "_", " ")
}

// The begins a sentence about a field of a contract: "The asking price".
func The(path string) string {
	if strings.HasPrefix(path, "-") {
		return path // an option of a command
	}
	return "The " + Word(path)
}

// Sentence makes what follows a field's name, such as "must not be below zero", a sentence about it. About the
// whole request, with no path, it stands for itself.
func Sentence(path, says string) string {
	if path != "" {
		return The(path) + " " + says + "."
	}
	first, size := utf8.DecodeRuneInString(says)
	return string(unicode.ToUpper(first)) + says[size:] + "."
}
