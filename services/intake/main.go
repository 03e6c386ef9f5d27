// Command intake is the service that takes pieces in.
package main

import (
	"tackfree/pkg/boot"
	"tackfree/services/intake/intakesvc"
)

func main() { boot.Main(intakesvc.Name, intakesvc.Run) }
