package server_test

import "pgregory.net/rapid"

// command is one that is drawn.
type command struct {
	name string
	give func(*model, *rapid.T)
}

// online are the commands of twelve people, drawn the more often the sooner they stand here.
var online = []command{
	{"clock on", (*model).on}, {"finish", (*model).finish}, {"clock off", (*model).off}, {"pause", (*model).pause}, {"resume", (*model).resume},
	{"switch", (*model).switchOver}, {"form a batch", (*model).form}, {"finish a batch", (*model).finishBatch}, {"move", (*model).move}, {"pass", (*model).pass},
	{"fail", (*model).fail}, {"send", (*model).send}, {"send out", (*model).sendOut}, {"receive", (*model).receive}, {"hand over", (*model).handOver},
	{"claim", (*model).claim}, {"send back", (*model).sendBack}, {"record", (*model).record}, {"take away", (*model).takeAway}, {"settle", (*model).settle},
	{"leave a batch", (*model).leaveBatch}, {"dissolve", (*model).dissolve}, {"assign", (*model).assign},
}

// offline are those of three people with phones.
var offline = []command{
	{"send", (*model).send}, {"settle", (*model).settle}, {"move", (*model).move}, {"clock on", (*model).on}, {"clock off", (*model).off},
	{"form a batch", (*model).form}, {"finish", (*model).finish}, {"send once more", (*model).sendOnceMore}, {"switch", (*model).switchOver},
	{"take away", (*model).takeAway}, {"pause", (*model).pause}, {"resume", (*model).resume}, {"send out", (*model).sendOut}, {"receive", (*model).receive},
	{"assign", (*model).assign}, {"leave a batch", (*model).leaveBatch}, {"send back", (*model).sendBack},
}

func (m *model) command(rt *rapid.T) {
	i := rapid.IntRange(0, len(m.commands)-1).Draw(rt, "command")
	rt.Log(m.commands[i].name)
	m.commands[i].give(m, rt)
}
