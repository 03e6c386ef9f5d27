// Command costing is the service that keeps the books.
package main

import (
	"tackfree/pkg/boot"
	"tackfree/services/costing/costingsvc"
)

func main() { boot.Main(costingsvc.Name, costingsvc.Run) }
