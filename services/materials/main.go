// Command materials is the service that keeps what the shop works with.
package main

import (
	"tackfree/pkg/boot"
	"tackfree/services/materials/materialssvc"
)

func main() { boot.Main(materialssvc.Name, materialssvc.Run) }
