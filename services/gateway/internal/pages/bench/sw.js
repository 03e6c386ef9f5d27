// Looks after the bench while the shop is out of reach: keeps its shell and files, no answer that says anything of
// anybody's work. The address it was registered under says which edition it keeps, and how its reader reads.
'use strict';
const reads = new URL(location).searchParams;
const cache = `bench-${reads.get('v')}-${reads.get('language')}-${reads.get('theme')}`;
const shell = `/bench/shell?${new URLSearchParams({language: reads.get('language') || '', theme: reads.get('theme') || ''})}`;
const files = ['base.css', 'bench.css', 'live.js', 'bench.js', 'benchqueue.js', 'benchpress.js', 'benchtime.js', 'benchcall.js', 'benchshow.js',
  'mark.svg', 'tackfree.webmanifest'].map((f) => `/static/${f}`);
const patience = 4000; // ms; a phone at the edge of the network is as good as out of it

self.addEventListener('install', (e) => e.waitUntil((async () => {
  const c = await caches.open(cache);
  await c.addAll([new Request(shell, {credentials: 'omit', cache: 'reload'}), ...files.map((f) => new Request(f, {cache: 'reload'}))]);
  await self.skipWaiting();
})()));

self.addEventListener('activate', (e) => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith('bench-') && name !== cache) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener('fetch', (e) => {
  const {pathname} = new URL(e.request.url);
  if (e.request.method === 'POST' && pathname === '/sign-out') e.waitUntil(forget());
  if (e.request.method !== 'GET') return;
  if (e.request.mode === 'navigate' && (pathname === '/bench' || pathname === '/')) e.respondWith(fromShop(e.request, shell));
  else if (files.includes(pathname)) e.respondWith(fromShop(e.request, pathname));
});

// fromShop asks the shop, and gives what is kept where that does not answer.
async function fromShop(request, key) {
  const c = await caches.open(cache);
  const there = await c.match(key);
  let late;
  try {
    const slow = new Promise((_, no) => { late = setTimeout(() => no(new Error('slow')), patience); });
    const r = await (there ? Promise.race([fetch(request), slow]) : fetch(request));
    if (r.ok && key !== shell) await c.put(key, r.clone());
    if (r.status < 500 || !there) return r;
    return there;
  } catch (lost) {
    if (there) return there;
    throw lost;
  } finally { clearTimeout(late); }
}

// forget takes the name of whoever signs out off this phone; what waits of theirs stays.
function forget() {
  return new Promise((done) => {
    const r = indexedDB.open('tackfree-bench', 1);
    r.onupgradeneeded = () => { r.result.createObjectStore('queue', {keyPath: 'n'}); r.result.createObjectStore('kept'); };
    r.onerror = done;
    r.onsuccess = () => {
      const tx = r.result.transaction('kept', 'readwrite');
      tx.objectStore('kept').delete('who');
      tx.oncomplete = tx.onerror = () => { r.result.close(); done(); };
    };
  });
}
