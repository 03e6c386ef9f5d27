// What a phone keeps: presses that wait to be sent, in order, and what it last knew of the work.
//
//   queue: {n, person, kind: 'direct' | 'entry', …}   see benchpress.js
//   kept:  'who', 'device', 'skew', 'state:people/…'
const name = 'tackfree-bench';
let opening;

function database() {
  opening ??= new Promise((yes, no) => {
    const r = indexedDB.open(name, 1);
    r.onupgradeneeded = () => { r.result.createObjectStore('queue', {keyPath: 'n'}); r.result.createObjectStore('kept'); };
    r.onsuccess = () => yes(r.result);
    r.onerror = () => no(r.error);
  });
  return opening;
}

const answer = (r) => new Promise((yes, no) => { r.onsuccess = () => yes(r.result); r.onerror = () => no(r.error); });

// A change is on the disk before anything is told of it.
async function within(mode, work) {
  const tx = (await database()).transaction(['queue', 'kept'], mode, {durability: 'strict'});
  const done = new Promise((yes, no) => { tx.oncomplete = yes; tx.onerror = tx.onabort = () => no(tx.error); });
  const out = await work(tx.objectStore('queue'), tx.objectStore('kept'));
  await done;
  return out;
}

export const channel = new BroadcastChannel(name);
const told = () => channel.postMessage('changed');

// alone lets one tab after the other do something. A browser gives no locks to a page that came over plain HTTP from
// another machine; there each tab waits for itself alone, and what two send at once the shop does once, by its id.
const before = {};
export function alone(what, work) {
  if (navigator.locks) return navigator.locks.request(`${name}-${what}`, work);
  const turn = (before[what] || Promise.resolve()).then(work);
  before[what] = turn.catch(() => {});
  return turn;
}

// newID makes an id for a command: a random UUID, also where the browser makes none itself.
export function newID() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const b = crypto.getRandomValues(new Uint8Array(16));
  [b[6], b[8]] = [(b[6] & 0x0f) | 0x40, (b[8] & 0x3f) | 0x80];
  return [...b].map((x, i) => ([4, 6, 8, 10].includes(i) ? '-' : '') + x.toString(16).padStart(2, '0')).join('');
}

export const kept = (key) => within('readonly', (_, store) => answer(store.get(key)));
export const keep = (key, value) => within('readwrite', (_, store) => { if (value === null) store.delete(key); else store.put(value, key); });

// queueOf gives what somebody pressed and what has become of it, in the order in which they did.
export const queueOf = (person) => within('readonly', async (store) => (await answer(store.getAll())).filter((r) => r.person === person));

// change lets a function change the queue of somebody, as one step over all tabs: it is given the queue and gives
// what to put and what to take away.
export async function change(person, decide) {
  const out = await alone('queue', () => within('readwrite', async (store) => {
    const all = await answer(store.getAll());
    const last = all.length ? all[all.length - 1].n : 0;
    const {put = [], gone = [], ...more} = decide(all.filter((r) => r.person === person), last + 1);
    for (const n of gone) store.delete(n);
    for (const r of put) store.put(r);
    return more;
  }));
  told();
  return out;
}
