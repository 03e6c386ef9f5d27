// Command sales is the service that lists and sells pieces.
package main

import (
	"tackfree/pkg/boot"
	"tackfree/services/sales/salessvc"
)

func main() { boot.Main(salessvc.Name, salessvc.Run) }
