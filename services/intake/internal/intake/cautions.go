package intake

// EstimateCautions are what a client should know before approving. The usual cautions of the trade; what the law
// asks of a place is for those who know it.
func EstimateCautions() []Hazard {
	return []Hazard{
		{"hidden_damage", "Old finishes hide what is under them. Damage that shows once work has begun is told to you first, with its price, as a change order; nothing of it is done before you approve."},
		{"lead", "A coating from before 1978, or of unknown age, is presumed to hold lead until it was tested. It is then not sanded dry or heated, and local codes say who may work on it and where the waste goes; this can change the estimate."},
		{"solvents", "Strippers, finishes and fresh coats give off solvent. Air the piece and the room as the product's label says, and keep flames and children away until it has cured."},
	}
}
