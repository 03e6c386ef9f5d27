package intake

// each is one count for all sizes.
func each(n int32) [3]int32 { return [3]int32{n, n, n} }

// usual are the parts of kinds of furniture, small, medium and large, cm. Common practice: measures
// that such pieces usually have, of what is coated of them; insides and backs of cases are not.
var usual = map[string][]usualPart{
	"dresser": {
		{"top", each(1), [3]int64{90, 120, 160}, [3]int64{45, 48, 50}, "2"},
		{"side", each(2), [3]int64{75, 80, 85}, [3]int64{43, 46, 48}, "2"},
		{"drawer front", [3]int32{3, 6, 9}, [3]int64{84, 56, 50}, [3]int64{20, 20, 22}, "2"},
		{"front frame", each(1), [3]int64{90, 120, 160}, [3]int64{20, 22, 24}, "2"},
	},
	"chest of drawers": {
		{"top", each(1), [3]int64{60, 80, 100}, [3]int64{40, 45, 50}, "2"},
		{"side", each(2), [3]int64{75, 100, 130}, [3]int64{38, 43, 48}, "2"},
		{"drawer front", [3]int32{3, 4, 6}, [3]int64{55, 74, 92}, [3]int64{18, 20, 18}, "2"},
		{"front frame", each(1), [3]int64{60, 80, 100}, [3]int64{18, 22, 28}, "2"},
	},
	"nightstand": {
		{"top", each(1), [3]int64{38, 45, 60}, [3]int64{33, 38, 42}, "2"},
		{"side", each(2), [3]int64{50, 58, 62}, [3]int64{31, 36, 40}, "1.8"},
		{"drawer front", [3]int32{1, 2, 3}, [3]int64{33, 40, 54}, [3]int64{14, 18, 17}, "1.8"},
		{"front frame", each(1), [3]int64{38, 45, 60}, [3]int64{12, 14, 16}, "1.8"},
	},
	"table": {
		{"top", each(1), [3]int64{90, 140, 200}, [3]int64{75, 85, 100}, "2.5"},
		{"apron", each(4), [3]int64{65, 95, 130}, [3]int64{10, 10, 12}, "2"},
		{"leg", each(4), [3]int64{72, 72, 72}, [3]int64{6, 7, 8}, "7"},
	},
	"coffee table": {
		{"top", each(1), [3]int64{75, 105, 130}, [3]int64{45, 55, 70}, "2.2"},
		{"apron", each(4), [3]int64{50, 70, 90}, [3]int64{8, 8, 10}, "2"},
		{"leg", each(4), [3]int64{40, 42, 44}, [3]int64{5, 5, 6}, "5"},
	},
	"side table": {
		{"top", each(1), [3]int64{35, 45, 60}, [3]int64{35, 45, 55}, "2"},
		{"apron", each(4), [3]int64{27, 36, 47}, [3]int64{8, 8, 10}, "1.8"},
		{"leg", each(4), [3]int64{52, 58, 62}, [3]int64{4, 4, 5}, "4"},
	},
	"chair": {
		{"seat", each(1), [3]int64{38, 44, 52}, [3]int64{36, 42, 48}, "2"},
		{"front leg", each(2), [3]int64{42, 44, 44}, [3]int64{4, 4, 5}, "4"},
		{"back leg", each(2), [3]int64{85, 95, 105}, [3]int64{4, 4, 5}, "4"},
		{"apron", each(4), [3]int64{32, 37, 43}, [3]int64{6, 6, 7}, "2"},
		{"slat", each(3), [3]int64{32, 37, 43}, [3]int64{7, 8, 9}, "1.2"},
		{"arm", [3]int32{0, 0, 2}, [3]int64{0, 0, 45}, [3]int64{0, 0, 6}, "2.5"},
	},
	"set of chairs": { // two, four and six
		{"seat", [3]int32{2, 4, 6}, [3]int64{44, 44, 44}, [3]int64{42, 42, 42}, "2"},
		{"front leg", [3]int32{4, 8, 12}, [3]int64{44, 44, 44}, [3]int64{4, 4, 4}, "4"},
		{"back leg", [3]int32{4, 8, 12}, [3]int64{95, 95, 95}, [3]int64{4, 4, 4}, "4"},
		{"apron", [3]int32{8, 16, 24}, [3]int64{37, 37, 37}, [3]int64{6, 6, 6}, "2"},
		{"slat", [3]int32{6, 12, 18}, [3]int64{37, 37, 37}, [3]int64{8, 8, 8}, "1.2"},
	},
	"stool": {
		{"seat", each(1), [3]int64{28, 34, 38}, [3]int64{28, 34, 38}, "2.5"},
		{"leg", each(4), [3]int64{30, 45, 70}, [3]int64{4, 4, 4}, "4"},
		{"stretcher", each(4), [3]int64{22, 28, 32}, [3]int64{3, 3, 3}, "2"},
	},
	"bench": {
		{"seat", each(1), [3]int64{80, 120, 160}, [3]int64{32, 36, 40}, "2.5"},
		{"leg", each(4), [3]int64{43, 43, 43}, [3]int64{6, 6, 7}, "6"},
		{"rail", each(2), [3]int64{70, 108, 146}, [3]int64{9, 10, 10}, "2"},
		{"back", [3]int32{0, 0, 1}, [3]int64{0, 0, 160}, [3]int64{0, 0, 45}, "2"},
	},
	"bookcase": {
		{"side", each(2), [3]int64{90, 150, 200}, [3]int64{26, 28, 30}, "2"},
		{"shelf", [3]int32{3, 5, 6}, [3]int64{60, 76, 96}, [3]int64{25, 27, 29}, "2"},
		{"back panel", each(1), [3]int64{90, 150, 200}, [3]int64{60, 76, 96}, "0.6"},
	},
	"cabinet": {
		{"top", each(1), [3]int64{60, 90, 120}, [3]int64{35, 42, 48}, "2"},
		{"side", each(2), [3]int64{75, 110, 160}, [3]int64{33, 40, 46}, "2"},
		{"door", [3]int32{1, 2, 4}, [3]int64{65, 95, 72}, [3]int64{50, 40, 54}, "2"},
		{"front frame", each(1), [3]int64{75, 110, 160}, [3]int64{15, 18, 22}, "2"},
	},
	"desk": {
		{"top", each(1), [3]int64{90, 120, 150}, [3]int64{50, 60, 75}, "2.2"},
		{"side", each(2), [3]int64{70, 70, 72}, [3]int64{45, 55, 70}, "2"},
		{"drawer front", [3]int32{1, 4, 7}, [3]int64{50, 36, 38}, [3]int64{10, 16, 18}, "2"},
		{"back side", each(1), [3]int64{84, 112, 142}, [3]int64{35, 45, 55}, "1.2"},
	},
	"sideboard": {
		{"top", each(1), [3]int64{110, 150, 200}, [3]int64{42, 46, 50}, "2.2"},
		{"side", each(2), [3]int64{75, 82, 90}, [3]int64{40, 44, 48}, "2"},
		{"door", [3]int32{2, 2, 4}, [3]int64{55, 58, 60}, [3]int64{40, 45, 44}, "2"},
		{"drawer front", [3]int32{1, 3, 3}, [3]int64{100, 45, 60}, [3]int64{14, 16, 16}, "2"},
		{"front frame", each(1), [3]int64{110, 150, 200}, [3]int64{18, 20, 22}, "2"},
	},
	"wardrobe": {
		{"top", each(1), [3]int64{80, 110, 150}, [3]int64{50, 55, 60}, "2"},
		{"side", each(2), [3]int64{170, 190, 205}, [3]int64{48, 53, 58}, "2"},
		{"door", [3]int32{1, 2, 3}, [3]int64{150, 170, 180}, [3]int64{60, 48, 46}, "2.2"},
		{"front frame", each(1), [3]int64{170, 190, 205}, [3]int64{20, 22, 26}, "2.2"},
	},
	"bed": {
		{"headboard", each(1), [3]int64{95, 145, 190}, [3]int64{80, 95, 110}, "2.2"},
		{"footboard", each(1), [3]int64{95, 145, 190}, [3]int64{45, 50, 55}, "2.2"},
		{"side rail", each(2), [3]int64{195, 200, 205}, [3]int64{16, 18, 20}, "2.5"},
		{"post", each(4), [3]int64{70, 80, 90}, [3]int64{7, 7, 8}, "7"},
	},
	"trunk": {
		{"top", each(1), [3]int64{70, 95, 120}, [3]int64{40, 48, 55}, "2"},
		{"long side", each(2), [3]int64{70, 95, 120}, [3]int64{38, 45, 50}, "2"},
		{"short side", each(2), [3]int64{38, 46, 53}, [3]int64{38, 45, 50}, "2"},
	},
	"door": {
		{"door", each(1), [3]int64{150, 200, 210}, [3]int64{45, 75, 95}, "3.5"},
	},
	"mirror frame": {
		{"long rail", each(2), [3]int64{60, 90, 160}, [3]int64{6, 8, 9}, "2"},
		{"short rail", each(2), [3]int64{40, 60, 70}, [3]int64{6, 8, 9}, "2"},
	},
}

// alsoCalled are other names of kinds.
var alsoCalled = map[string]string{
	"chest": "chest of drawers", "tallboy": "chest of drawers", "highboy": "chest of drawers", "bedside table": "nightstand", "bedside cabinet": "nightstand", "night stand": "nightstand",
	"dining table": "table", "kitchen table": "table", "console table": "table", "end table": "side table", "plant stand": "side table",
	"dining chair": "chair", "armchair": "chair", "rocking chair": "chair", "chairs": "set of chairs", "bar stool": "stool",
	"bookshelf": "bookcase", "shelf": "bookcase", "shelves": "bookcase", "cupboard": "cabinet", "hutch": "cabinet", "washstand": "cabinet", "vanity": "desk", "secretary": "desk",
	"buffet": "sideboard", "credenza": "sideboard", "armoire": "wardrobe", "bed frame": "bed", "headboard": "bed", "blanket chest": "trunk", "cedar chest": "trunk",
	"mirror": "mirror frame",
}
