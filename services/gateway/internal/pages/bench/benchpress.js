// Presses: what they come to while the shop can be reached, and while it cannot.
//
//   direct: {id, at, body, about, later: [entry …], tries}      asked again under its id until it is answered
//   entry:  {id, about, ends: {entry} | {n} | null, start, end, sent, state: 'waits' | 'lead' | 'refused', sentence}
//
// An entry that the shop may have received stays as it is, for it is asked again with the same body; the end of a
// stretch whose beginning was sent is an entry of its own.
import {change, newID, queueOf} from './benchqueue.js';
import {byDevice, byShop, mark} from './benchtime.js';

const id = newID;
export const waits = (r) => r.kind === 'direct' || r.state === 'waits';

const begins = (act) => act.do === 'on' || act.do === 'switch' || act.do === 'resume';
const ends = (act) => act.do !== 'on' && act.do !== 'resume';

// where is what somebody is on when all that waits is done: what the shop last said, and then press by press.
export function where(state, queue) {
  let {on, paused} = {on: state.on, paused: state.paused};
  for (const r of queue.filter(waits)) {
    if (r.ends || (r.kind === 'direct' && ends({do: r.body.do}))) {
      paused = r.pauses ? on : null;
      on = null;
    }
    if (r.start && r.end) { paused = r.pauses ? r.about : null; on = null; }
    if ((r.start && !r.end) || (r.kind === 'direct' && begins({do: r.body.do}))) {
      on = {...r.about, n: r.n, since: new Date(r.mark.wall).toISOString()};
      paused = null;
    }
  }
  return {on, paused};
}

const aboutOf = (x) => ({stage: x.batch ? '' : x.stage || '', batch: x.batch || '', indirect: x.indirect || '', title: x.title, tag: x.tag || (x.tags || [])[0] || 0, finishable: Boolean(x.finishable ?? x.job?.finishable)});

const entry = (person, about, m, more) => ({person, kind: 'entry', id: id(), about, ends: null, start: null, end: null, cautions: [], sent: null, state: 'waits', sentence: '', mark: m, ...more});

// entriesOf are what a press comes to where the shop cannot be asked.
function entriesOf(person, act, at, m) {
  const all = [];
  if (ends(act) && at.on) {
    const of = at.on.n ? {n: at.on.n} : {entry: at.on.entry};
    all.push(entry(person, aboutOf(at.on), m, {ends: of, end: m, pauses: act.do === 'pause'}));
  }
  const target = act.do === 'resume' ? at.paused : act.target;
  if (begins(act) && target) all.push(entry(person, aboutOf(target), m, {start: m, cautions: act.cautions || []}));
  return all;
}

// press takes a press into the queue and gives it. Direct: the shop is asked for just this; else it waits its turn.
export function press(state, act, direct) {
  const m = mark();
  return change(state.person, (queue, n) => {
    const at = where(state, queue);
    if (direct && !queue.some(waits)) {
      const r = directOf(state.person, act, at, m, n);
      return {put: [r], n};
    }
    return {put: merge(queue, entriesOf(state.person, act, at, m), n), n};
  });
}

function directOf(person, act, at, m, n) {
  const target = act.target || {};
  const about = aboutOf(act.do === 'resume' ? at.paused : begins(act) ? target : at.on);
  const body = {do: act.do, stage: begins(act) && act.do !== 'resume' ? about.stage : '', batch: begins(act) && act.do !== 'resume' ? about.batch : '',
    indirect: begins(act) && act.do !== 'resume' ? about.indirect : '', cautions: act.cautions || [], finish: Boolean(act.finish),
    finish_stage: act.do === 'finish' ? at.on.stage || '' : '', finish_batch: act.do === 'finish' ? at.on.batch || '' : '', finish_id: id()};
  return {n, person, kind: 'direct', id: id(), at: byShop(m), body, about, later: entriesOf(person, act, at, m), tries: 0, mark: m, pauses: act.do === 'pause'};
}

// merge numbers new entries, and ends a stretch in place that nobody has sent yet.
function merge(queue, entries, n) {
  return entries.map((e, i) => {
    const begun = e.ends && queue.find((r) => r.n === e.ends.n);
    if (begun && begun.kind === 'entry' && !begun.sent) return {...begun, end: e.end, pauses: e.pauses};
    return {...e, n: n + i};
  });
}

// nextOf marks the first that waits as asked, so that from now on it stays as it is; null: nothing waits.
export function nextOf(person, device, reset) {
  return change(person, (queue) => {
    const r = queue.find(waits);
    if (!r) return {next: null};
    if (r.kind === 'direct') r.tries++;
    else r.sent ??= frozen(r, device, reset);
    return {put: [r], next: r};
  });
}

function frozen(r, device, reset) {
  const start = r.start && byDevice(r.start);
  const end = r.end && byDevice(r.end);
  const sure = (!start || start.sure) && (!end || end.sure);
  const iso = (t) => t && new Date(t.at).toISOString();
  return {entry: r.ends ? r.ends.entry : '', ...(r.ends ? {} : {stage: r.about.stage, batch: r.about.batch, indirect: r.about.indirect}),
    start: iso(start), end: iso(end), device: sure ? device : `${device} (${reset})`, cautions: r.cautions, about: r.about.stage};
}

// bodyOf is what is sent of a record.
export function bodyOf(r) {
  const who = {id: r.id, person: r.person};
  return r.kind === 'direct' ? {...who, at: r.at, ...r.body} : {...who, ...r.sent, shows: new Date().toISOString()};
}

// answered takes what was answered out of the queue. What ends it knows now which entry that is; where the lead has
// it or it was refused, what ends it tells the whole stretch.
export function answered(r, {entry: known = '', state = '', sentence = ''}) {
  return change(r.person, (queue) => {
    const after = queue.filter((x) => x.ends && x.ends.n === r.n).map((x) => (known
      ? {...x, ends: {entry: known}}
      : {...x, ends: null, start: r.start || r.mark, about: r.about, cautions: r.cautions || []}));
    const put = state ? [...after, {...r, state, sentence}] : after;
    return state ? {put} : {put, gone: [r.n]};
  });
}

// refused sends a press that was asked before as entries of a device; one that was asked for the first time was
// certainly not done, and whoever pressed is there to read why. true: it is gone.
export async function refused(r) {
  const again = r.tries > 1 && r.later.length > 0;
  await change(r.person, () => {
    if (!again) return {gone: [r.n]};
    const last = r.later.length - 1;
    return {gone: [r.n], put: r.later.map((e, i) => ({...e, n: r.n - (last - i) / 10}))};
  });
  return !again;
}

export const seen = (person, n) => change(person, (queue) => (queue.some((r) => r.n === n && !waits(r)) ? {gone: [n]} : {}));
export {queueOf};
