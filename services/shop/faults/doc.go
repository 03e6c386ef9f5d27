// Package faults breaks the shop on purpose, while people work in it, and then checks the books.
// It holds tests only.
//
//	         hands: helpers and the owner, each command under one request id until it is
//	           │    answered, refused, or given up; the history keeps which
//	           │ gRPC
//	           ▼
//	intake  workflow  materials  sales  costing     a process each: killed, started again
//	   │        │         │        │       │
//	   │        │   links │        │       │        proxies that see each COMMIT: held up, lost
//	   ▼        ▼         ▼        ▼       ▼        on the way, or done and never told
//	┌───────────────────────────────────────┐
//	│ Postgres                              │       a database of its own; or a whole server,
//	└───────────────────────────────────────┘       stopped at once and started again
//	   │ relays                            ▲
//	   ▼                                   │
//	┌───────────────────────────────────────┐
//	│ JetStream                             │       a process of its own, killed; or the test
//	└───────────────────────────────────────┘       relays by hand: shuffled, repeated, poisoned
//
// What is random comes from one seed, which is printed. Processes and the network are not ruled by
// it, so a seed brings the same commands and faults again, and only nearly the same moments.
//
// After each scenario the books are checked: what was answered counts once, what was refused not at
// all, what nobody knows once or not at all; events are numbered without holes; clocks do not
// overlap; stock is the sum of what came and went; and what costing says of each piece is what SQL
// over the producers' own tables comes to, to the minor unit.
//
// That a scenario can fail is shown by bugs that are planted for it; see package planted.
package faults
