package cli

import (
	"fmt"
	"reflect"
	"time"

	"github.com/alecthomas/kong"
)

// lengths reads every flag that is a length of time, and refuses what is none with a sentence.
var lengths = kong.TypeMapper(reflect.TypeFor[time.Duration](), kong.MapperFunc(decodeLength))

func decodeLength(c *kong.DecodeContext, target reflect.Value) error {
	var text string
	if err := c.Scan.PopValueInto("length of time", &text); err != nil {
		return err
	}
	d, err := time.ParseDuration(text)
	if err != nil {
		return fmt.Errorf("%q is not a length of time; say it as 40h or 1h30m", text)
	}
	target.SetInt(int64(d))
	return nil
}
