// Command workflow is the service of the shop floor: people, stages and clocks.
package main

import (
	"tackfree/pkg/boot"
	"tackfree/services/workflow/workflowsvc"
)

func main() { boot.Main(workflowsvc.Name, workflowsvc.Run) }
