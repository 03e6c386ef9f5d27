package workflow

import (
	"strings"
	"unicode/utf8"

	"tackfree/pkg/fault"
)

// CheckPin refuses a PIN that is none, or that is among the first that somebody would try. Faults:
// PIN_MALFORMED, PIN_GUESSABLE.
func CheckPin(pin string) error {
	if len(pin) < 4 || len(pin) > 8 || strings.Trim(pin, "0123456789") != "" {
		return fault.New(fault.Invalid, "PIN_MALFORMED", "A PIN is 4 to 8 digits.").At("pin")
	}
	if runs(pin) || repeats(pin) {
		return fault.New(fault.Invalid, "PIN_GUESSABLE", "That PIN is among the first that anybody would try: digits in a row, or the same ones again. Choose another.").At("pin")
	}
	return nil
}

// runs reports digits that go up or down by one, past 9 too.
func runs(pin string) bool {
	step := (pin[1] - pin[0] + 10) % 10
	if step != 1 && step != 9 {
		return false
	}
	for i := 2; i < len(pin); i++ {
		if (pin[i]-pin[i-1]+10)%10 != step {
			return false
		}
	}
	return true
}

// repeats reports a PIN that is a shorter one again and again, such as 1111 or 1212.
func repeats(pin string) bool { return strings.Contains((pin + pin)[1:2*len(pin)-1], pin) }

// shortest passphrase, in characters; longer is what makes one hard to guess.
const shortest = 10

// CheckPassphrase refuses a passphrase that is short, or that is hardly more than a few characters or
// their own name. Faults: PASSPHRASE_SHORT, PASSPHRASE_GUESSABLE.
func CheckPassphrase(passphrase, nameKey string) error {
	if utf8.RuneCountInString(passphrase) < shortest {
		return fault.New(fault.Invalid, "PASSPHRASE_SHORT", "A passphrase has %d characters or more; a few words that belong together for nobody else do well.", shortest).At("passphrase")
	}
	rest := strings.ReplaceAll(strings.ToLower(passphrase), nameKey, "")
	distinct := map[rune]bool{}
	for _, r := range rest {
		distinct[r] = true
	}
	if len(distinct) < 5 {
		return fault.New(fault.Invalid, "PASSPHRASE_GUESSABLE", "That passphrase is hardly more than a name, or a few characters again and again. Choose other words.").At("passphrase")
	}
	return nil
}
