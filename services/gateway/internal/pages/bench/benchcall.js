// Calls to the shop. What comes of one is: done, refused (with a sentence), unsure (it may have been done, or was not
// for the moment: ask again), or stranger (somebody else is signed in, or nobody).
import {heard} from './benchtime.js';

const patience = 8000; // ms; after that nobody knows

async function call(path, options) {
  const began = performance.now();
  const r = await fetch(path, {credentials: 'same-origin', cache: 'no-store', signal: AbortSignal.timeout(patience), ...options});
  const said = await r.json();
  const now = said.now || (said.state && said.state.now);
  return {status: r.status, said, skew: r.ok && now ? heard(now, performance.now() - began) : undefined};
}

function outcome({status, said, skew}) {
  if (status < 300) return {done: said, skew};
  const {reason = '', message = ''} = said.error || {};
  if (status === 401 || reason === 'FORM_STALE' || reason === 'NOT_YOURS') return {stranger: true, sentence: message};
  if (status >= 500 || status === 429 || status === 408 || reason === 'CONTENTION') return {unsure: true};
  return {refused: message || String(status)};
}

async function ask(path, options) {
  try {
    return outcome(await call(path, options));
  } catch {
    return {unsure: true, away: true};
  }
}

export const read = () => ask('/bench/state', {});

export const send = (path, form, body) => ask(path, {method: 'POST', headers: {'Content-Type': 'application/json', 'X-Tackfree-Form': form}, body: JSON.stringify(body)});
