package typed

import typev1 "tackfree/proto/tackfree/type/v1"

// Kinds are what pieces commonly are, those that are seen most first; another one is typed.
var Kinds = []string{"dresser", "table", "chair", "nightstand", "chest", "cabinet", "sideboard", "bookcase", "desk", "bench", "bed", "mirror",
	"wardrobe", "washstand", "stool", "door"}

// SizeWords are how forms call sizes, by the hands that a piece takes.
var SizeWords = []string{"small", "medium", "large"}

// Sizes are the sizes by their words.
var Sizes = map[string]typev1.PieceSize{"small": typev1.PieceSize_PIECE_SIZE_SMALL, "medium": typev1.PieceSize_PIECE_SIZE_MEDIUM, "large": typev1.PieceSize_PIECE_SIZE_LARGE}
