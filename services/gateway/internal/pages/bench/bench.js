// The bench: what somebody is on, what comes next, and what waits to be sent.
import {alone, channel, keep, kept, newID} from './benchqueue.js';
import {answered, bodyOf, nextOf, press, queueOf, refused, seen, waits, where} from './benchpress.js';
import {read, send} from './benchcall.js';
import {recall, steady} from './benchtime.js';
import {show, words} from './benchshow.js';

const [shortest, longest] = [2000, 15000]; // ms between looks whether what waits can be sent
let state = null; // what the shop last said, or what was kept of it
let looked = false; // the shop was asked once
let fresh = false; // it said so to this page, of whoever is signed in
let away = false;
let stranger = ''; // why nothing is sent: nobody is signed in, or another
let chosen = null; // the job that was picked rather than the next
let busy = false;
let trouble = ''; // what was refused last
let source = null; // of what changes on the floor

async function render() {
  const queue = state ? await queueOf(state.person) : [];
  show({state, looked, queue, at: state ? where(state, queue) : {}, away: away || !navigator.onLine, stranger, chosen, busy, trouble, act});
}

async function know(s) {
  if (state && state.person !== s.person) chosen = null;
  state = s;
  [fresh, away, stranger] = [true, false, ''];
  if (!source) listen();
  await Promise.all([keep('who', s.person), keep(`state:${s.person}`, {...s, form: ''})]);
}

// look asks the shop how things stand.
async function look() {
  const r = await read();
  looked = true;
  if (r.done) {
    await know(r.done);
    if (r.skew !== undefined) await keep('skew', r.skew);
  } else if (r.stranger) [fresh, stranger] = [false, r.sentence];
  else away = true;
  return Boolean(r.done);
}

// remember shows what was kept, where the shop cannot be asked.
async function remember() {
  recall(await kept('skew'));
  const who = await kept('who');
  state = (who && await kept(`state:${who}`)) || null;
}

async function device() {
  let named = await kept('device');
  if (!named) await keep('device', named = `${words.device} ${newID().slice(0, 4).toUpperCase()}`);
  return named;
}

// flush sends what waits, the first first, one tab at a time.
let flushing = null;
let more = false;
function flush() {
  more = true;
  flushing ??= alone('send', async () => {
    while (more) {
      more = false;
      while (navigator.onLine && await step());
    }
  }).finally(() => { flushing = null; render(); });
  return flushing;
}

// step sends one; false: nothing waits, or it is no use now.
async function step() {
  if (!state || (!fresh && (!(await queueOf(state.person)).some(waits) || !await look()))) return false;
  const {next} = await nextOf(state.person, await device(), words.reset);
  if (!next) return false;
  const r = await send(next.kind === 'direct' ? '/bench/clock' : '/bench/entry', state.form, bodyOf(next));
  if (r.done) return settled(next, r.done);
  if (r.refused) return turnedDown(next, r.refused);
  if (r.stranger) [fresh, stranger] = [false, r.sentence];
  else away = true;
  return false;
}

async function settled(r, said) {
  away = false;
  if (said.lead) await answered(r, {state: 'lead', sentence: said.lead});
  else await answered(r, {entry: said.entry});
  trouble = said.said || trouble;
  if (said.state) await know(said.state);
  else if (!(await queueOf(state.person)).some(waits)) await look();
  return true;
}

async function turnedDown(r, sentence) {
  away = false;
  if (r.kind === 'entry') await answered(r, {state: 'refused', sentence});
  else if (await refused(r)) trouble = sentence;
  await look();
  return true;
}

// atOnce asks for what is done now or not at all, with whoever stands there to read why not.
async function atOnce(body) {
  trouble = '';
  const r = await send('/bench/clock', state.form, {id: newID(), person: state.person, ...body});
  if (r.done && r.done.state) await know(r.done.state);
  else trouble = r.refused || r.sentence || words.unsure;
}

// act is what a button does.
const acts = {
  async press(a) {
    if (busy) return;
    [busy, trouble] = [true, ''];
    try {
      if (fresh && navigator.onLine && !away && !steady()) await look();
      await press(state, a, fresh && navigator.onLine && !away && steady());
      chosen = null;
      await render();
      await flush();
    } finally { busy = false; }
  },
  claim(job) { return atOnce({do: 'claim', stage: job.stage}); },
  reply({swap, how}) { return atOnce({do: how, swap}); },
  choose(job) { chosen = job; },
  warn(sentence) { trouble = sentence; },
  async seen(n) { await seen(state.person, n); },
};

async function act(name, of) {
  await acts[name](of);
  await render();
}

// Somebody who signs out takes their name with them; what they pressed waits until they are back.
document.addEventListener('submit', (e) => {
  if (e.target.getAttribute('action') === '/sign-out') keep('who', null);
});

async function begin() {
  await remember();
  await render();
  await look();
  await render();
  flush();
}

async function anew() {
  if (!navigator.onLine) return;
  await look();
  await render();
  flush();
}

// The shop says when something changes on the floor; several changes in a row are looked at once.
let due = 0;
function soon() {
  clearTimeout(due);
  due = setTimeout(() => { if (!document.hidden) anew(); }, 400);
}

function listen() {
  source = new EventSource('/live');
  source.onopen = () => { if (away) anew(); };
  source.addEventListener('floor', soon);
}
addEventListener('online', anew);
addEventListener('offline', render);
document.addEventListener('visibilitychange', () => { if (!document.hidden) anew(); });
channel.addEventListener('message', render);
// retry looks again while something waits or the shop is away, at first soon and then less often.
async function retry(after) {
  const waiting = state && (await queueOf(state.person)).some(waits);
  if (away || waiting) await anew();
  setTimeout(retry, away ? Math.min(after * 2, longest) : shortest, away ? Math.min(after * 2, longest) : shortest);
}
setTimeout(retry, shortest, shortest);
setInterval(() => document.dispatchEvent(new Event('tick')), 1000);

if ('serviceWorker' in navigator) {
  const reads = new URLSearchParams({language: document.documentElement.lang, theme: document.documentElement.dataset.theme});
  navigator.serviceWorker.register(`/sw.js?v=${document.getElementById('bench').dataset.edition}&${reads}`);
}
begin();
