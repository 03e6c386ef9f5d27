// Command gateway serves the pages of a refinishing shop and its JSON interface.
package main

import "tackfree/services/gateway/gatewaysvc"

func main() { gatewaysvc.Main() }
