package bench

// What the program has of the published instances. ft06, ft10 and ft20 are of Fisher and Thompson, Probabilistic learning
// combinations of local job-shop scheduling rules, in Industrial Scheduling, 1963, 225-251; their least makespans are proven
// (55, 930: Carlier and Pinson, Management Science 35 (1989) 164-176; 1165). ta01 to ta10 are made by the generator of
// Taillard, European Journal of Operational Research 64 (1993) 278-285, and the seeds of its table; their least makespans,
// all proven since, are those of the list of best known values that Taillard keeps of his instances, here from memory.
var ownKnown = []published{
	{set: "jsp/ft", name: "ft06", best: 55, text: ft06},
	{set: "jsp/ft", name: "ft10", best: 930, text: ft10},
	{set: "jsp/ft", name: "ft20", best: 1165, text: ft20},
	{set: "jsp/ta", name: "ta01", best: 1231},
	{set: "jsp/ta", name: "ta02", best: 1244},
	{set: "jsp/ta", name: "ta03", best: 1218},
	{set: "jsp/ta", name: "ta04", best: 1175},
	{set: "jsp/ta", name: "ta05", best: 1224},
	{set: "jsp/ta", name: "ta06", best: 1238},
	{set: "jsp/ta", name: "ta07", best: 1227},
	{set: "jsp/ta", name: "ta08", best: 1217},
	{set: "jsp/ta", name: "ta09", best: 1274},
	{set: "jsp/ta", name: "ta10", best: 1241},
}

// ownSeeds are those of times and of machines, of ta01 on: 15 jobs on 15 machines.
var ownSeeds = [...][2]int32{
	{840612802, 398197754},
	{1314640371, 386720536},
	{1227221349, 316176388},
	{342269428, 1806358582},
	{1603221416, 1501949241},
	{1357584978, 1734077082},
	{44531661, 1374316395},
	{302545136, 2092186050},
	{1153780144, 1393392374},
	{73896786, 1544979948},
}

const (
	ft06 = `6 6
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
`
	ft10 = `10 10
0 29 1 78 2 9 3 36 4 49 5 11 6 62 7 56 8 44 9 21
0 43 2 90 4 75 9 11 3 69 1 28 6 46 5 46 7 72 8 30
1 91 0 85 3 39 2 74 8 90 5 10 7 12 6 89 9 45 4 33
1 81 2 95 0 71 4 99 6 9 8 52 7 85 3 98 9 22 5 43
2 14 0 6 1 22 5 61 3 26 4 69 8 21 7 49 9 72 6 53
2 84 1 2 5 52 3 95 8 48 9 72 0 47 6 65 4 6 7 25
1 46 0 37 3 61 2 13 6 32 5 21 9 32 8 89 7 30 4 55
2 31 0 86 1 46 5 74 4 32 6 88 8 19 9 48 7 36 3 79
0 76 1 69 3 76 5 51 2 85 9 11 6 40 7 89 4 26 8 74
1 85 0 13 2 61 6 7 8 64 9 76 5 47 3 52 4 90 7 45
`
	ft20 = `20 5
0 29 1 9 2 49 3 62 4 44
0 43 1 75 3 69 2 46 4 72
1 91 0 39 2 90 4 12 3 45
1 81 0 71 4 9 2 85 3 22
2 14 1 22 0 26 3 21 4 72
2 84 1 52 4 48 0 47 3 6
1 46 0 61 2 32 3 32 4 30
2 31 1 46 0 32 3 19 4 36
0 76 3 76 2 85 1 40 4 26
1 85 2 61 0 64 3 47 4 90
1 78 3 36 0 11 4 56 2 21
2 90 0 11 1 28 3 46 4 30
0 85 2 74 1 10 3 89 4 33
2 95 0 99 1 52 3 98 4 43
0 6 1 61 4 69 2 49 3 53
1 2 0 95 3 72 4 65 2 25
0 37 2 13 1 21 3 89 4 55
0 86 1 74 4 88 2 48 3 79
1 69 2 51 0 11 3 89 4 74
0 13 1 7 2 76 3 52 4 45
`
)
