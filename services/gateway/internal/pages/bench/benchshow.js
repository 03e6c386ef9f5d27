// Puts what is known into the page. Texts come as text, never as HTML.
import {waits} from './benchpress.js';
import {now} from './benchtime.js';

const $ = (id) => document.getElementById(id);
export const words = JSON.parse($('bench').dataset.words);

// say fills the places in a text, one after the other.
const say = (text, ...args) => args.reduce((t, a) => t.replace('%s', () => a), text);

function el(tag, props = {}, ...inside) {
  const e = Object.assign(document.createElement(tag), props);
  e.append(...inside);
  return e;
}

const hidden = (id, is) => { $(id).hidden = is; };
const tagOf = (n) => el('span', {className: 'tag', textContent: n});
const tagsOf = (x) => (x.tags || (x.tag ? [x.tag] : [])).map(tagOf);
const nameOf = (x) => [x.title, ...(x.tags || (x.tag ? [x.tag] : []))].join(' · ');

let zone = {};
// As pages write times: 8:02 pm, whatever the browser's way of saying it.
const clock = (at) => new Intl.DateTimeFormat(document.documentElement.lang, {hour: zone.hour12 === false ? '2-digit' : 'numeric', minute: '2-digit', ...zone}).format(new Date(at))
  .replace(/\s*([ap])\.?\s*m\.?$/i, (_, letter) => ` ${letter.toLowerCase()}m`);

function left(ms) {
  const m = Math.max(0, Math.ceil(ms / 60000));
  return m < 60 ? say(words.minutes, m) : say(words.hours, Math.floor(m / 60), String(m % 60).padStart(2, '0'));
}

// A time that runs is written anew each second without anything else being touched.
function running(write) {
  const e = el('span', {className: 'figure'});
  e.write = () => { e.textContent = write(); };
  e.write();
  e.dataset.runs = '';
  return e;
}
document.addEventListener('tick', () => { for (const e of document.querySelectorAll('[data-runs]')) if (e.write) e.write(); });

function since(at) {
  const s = Math.max(0, Math.floor((now() - Date.parse(at)) / 1000));
  return `${Math.floor(s / 3600)}:${String(Math.floor(s / 60) % 60).padStart(2, '0')}:${String(s % 60).padStart(2, '0')}`;
}

function instruction(job) {
  const out = [];
  if (job.where) out.push({label: words.where, text: job.where});
  return el('dl', {className: 'facts'}, ...[...out, ...job.facts].flatMap((f) => [el('dt', {textContent: f.label}), el('dd', {textContent: f.text})]));
}

function ticket(job) {
  const all = [el('p', {className: 'job'}, ...tagsOf(job), ' ', el('strong', {textContent: job.title}))];
  if (job.facts) all.push(instruction(job));
  if (job.why) all.push(el('p', {className: 'fine', textContent: job.why}));
  if (job.because) all.push(el('p', {className: 'state wait', textContent: job.because}));
  return all;
}

// fill replaces what is in a place, and gives the focus back to what had it.
function fill(id, children) {
  const at = $(id).contains(document.activeElement) ? document.activeElement.id : '';
  $(id).replaceChildren(...children);
  if (at && $(at)) $(at).focus({preventScroll: true});
}

// refill fills unless that would change nothing to see: a button that is replaced between press and release is not
// pressed. What its buttons do must follow from what they show.
function refill(id, children) {
  const old = [...$(id).children];
  if (old.length !== children.length || !old.every((e, i) => e.isEqualNode(children[i]))) fill(id, children);
}

const jobKey = (j) => j && (j.batch || j.stage || j.indirect);
const sameJob = (a, b) => Boolean(a && b) && jobKey(a) === jobKey(b);

// nextOf is the job that the large button would begin: the one that was chosen, or the first that can start.
function nextOf({state, at, chosen}) {
  const all = [...state.jobs, ...state.could];
  if (chosen) return chosen.indirect ? chosen : all.find((j) => sameJob(j, chosen)) || chosen;
  const free = all.filter((j) => !sameJob(j, at.on) && !sameJob(j, at.paused));
  return free.find((j) => j.can) || free[0] || null;
}

let heeded = ''; // which job the cautions are shown of; ticks stay as long as it is the same
function showCautions(job) {
  const list = (job && job.cautions) || [];
  hidden('heed', list.length === 0);
  const key = `${jobKey(job)} ${list.map((c) => c.id)}`;
  if (key === heeded) return;
  heeded = key;
  $('cautions').replaceChildren(...list.map((c) => el('label', {}, el('input', {type: 'checkbox', name: 'caution', value: c.id}), el('span', {textContent: c.text}))));
}
const unread = () => document.querySelector('input[name=caution]:not(:checked)');
const read = () => [...document.querySelectorAll('input[name=caution]:checked')].map((c) => c.value);

// bigOf says what the large button does now.
function bigOf(v, next) {
  const {at, chosen} = v;
  if (at.on && chosen) return {text: say(words.switch, nameOf(next)), go: () => ({do: 'switch', target: next, cautions: read(), finish: $('finish-too').checked}), reads: true};
  if (at.on) return {text: say(words.off, nameOf(at.on)), go: () => ({do: 'off'}), off: true};
  if (at.paused && !chosen) return {text: say(words.resume, nameOf(at.paused)), go: () => ({do: 'resume'})};
  if (next && (next.can || next.indirect)) return {text: say(words.start, nameOf(next)), go: () => ({do: 'on', target: next, cautions: read()}), reads: true};
  if (next) return {text: say(words.start, nameOf(next)), go: () => ({do: 'on', target: next, cautions: read()}), reads: true, idle: true};
  return {text: words.nothing, idle: true};
}

function showGrip(v, next) {
  const big = bigOf(v, next);
  const b = $('big');
  b.textContent = v.busy ? words.sending : big.text;
  b.disabled = Boolean(big.idle);
  b.classList.toggle('stop', Boolean(big.off));
  b.setAttribute('aria-busy', String(Boolean(v.busy)));
  b.onclick = () => {
    const first = big.reads && unread();
    if (first) { first.focus(); v.act('warn', words.read); return; }
    v.act('press', big.go());
  };
  const {on} = v.at;
  hidden('pause', !on || Boolean(v.chosen));
  hidden('finish', !on || Boolean(v.chosen) || Boolean(on.indirect) || !(on.finishable ?? (on.job && on.job.finishable)));
  $('finish').disabled = v.away;
  $('pause').onclick = () => v.act('press', {do: 'pause'});
  $('finish').onclick = () => v.act('press', {do: 'finish'});
  hidden('stop-paused', !(v.at.paused && !on && !v.chosen && next));
  $('stop-paused').onclick = () => v.act('choose', next);
}

function showNow({at, state}) {
  hidden('idle', Boolean(at.on));
  hidden('on', !at.on);
  if (!at.on) return;
  const job = at.on.job || state.jobs.find((j) => sameJob(j, at.on)) || at.on;
  fill('on', [...ticket({...job, because: ''}), ...(at.on.sold ? [el('p', {className: 'state done', textContent: at.on.sold})] : []), el('p', {}, el('span', {textContent: `${say(words.since, clock(at.on.since))} `}), running(() => since(at.on.since)))]);
}

function showNext(v, next) {
  const shown = next && (!v.at.on || v.chosen) && (!v.at.paused || v.chosen);
  hidden('next-box', !shown);
  if (!shown) { showCautions(null); return; }
  fill('next', ticket(next));
  showCautions(next);
  hidden('leave', !(v.at.on && !v.at.on.indirect && !v.at.on.batch) || v.away);
  hidden('stay', !v.chosen);
  $('stay').onclick = () => v.act('choose', null);
}

// listed is one line of a list of jobs: a button that puts it on the bench.
function listed(v, j, prefix, i) {
  const b = el('button', {id: `${prefix}-${i}`, className: 'pick', onclick: () => v.act('choose', j)}, ...tagsOf(j), ' ', j.title);
  b.setAttribute('aria-pressed', String(sameJob(j, v.chosen)));
  const line = el('li', {}, b);
  if (j.because) line.append(el('span', {className: 'fine', textContent: j.because}));
  if (!j.mine && !v.away) {
    const take = el('button', {id: `${prefix}-take-${i}`, className: 'end quiet', textContent: words.claim, onclick: () => v.act('claim', j)});
    take.setAttribute('aria-label', `${words.claim}: ${nameOf(j)}`);
    line.append(take);
  }
  if (j.mine && !v.away) {
    const swap = el('a', {id: `${prefix}-swap-${i}`, className: 'end fine give', href: `/bench/swap?${new URLSearchParams({stage: j.stage})}`, textContent: words.swap});
    swap.setAttribute('aria-label', `${words.swap}: ${nameOf(j)}`);
    line.append(swap);
  }
  return line;
}

// asked is an offer, with the buttons that answer it or take it back.
function asked(v, a) {
  const line = el('li', {}, el('span', {}, a.text, ...(a.note ? [el('br'), el('span', {className: 'fine', textContent: a.note})] : [])));
  const buttons = (v.away ? [] : a.can).map((how) => {
    const b = el('button', {id: `${how}-${a.swap}`, className: how === 'accept' ? '' : 'quiet', textContent: words[how], onclick: () => v.act('reply', {swap: a.swap, how})});
    b.setAttribute('aria-label', `${words[how]}: ${a.text}`);
    return b;
  });
  if (buttons.length) line.append(el('span', {className: 'end small'}, ...buttons));
  return line;
}

function showAsks(v) {
  const asks = v.state.asks || [];
  hidden('asks-box', asks.length === 0);
  refill('asks', asks.map((a) => asked(v, a)));
  hidden('asks-away', !v.away || asks.length + v.state.jobs.length === 0);
}

function showLists(v) {
  const {state, at} = v;
  const jobs = state.jobs.filter((j) => !sameJob(j, at.on));
  const could = state.could.filter((j) => !sameJob(j, at.on) && !jobs.some((m) => sameJob(m, j)));
  fill('jobs', jobs.map((j, i) => listed(v, j, 'job', i)));
  hidden('jobs-none', jobs.length > 0);
  fill('could', could.map((j, i) => listed(v, j, 'could', i)));
  hidden('could-none', could.length > 0);
  $('more').textContent = state.more;
  $('obstacles').replaceChildren(...(state.obstacles || []).map((o) => el('li', {textContent: o})));
  hidden('kept-back', !(state.obstacles || []).length);
  fill('drying', state.drying.map(dryingLine));
  hidden('drying-none', state.drying.length > 0);
}

function dryingLine(w) {
  const line = el('li', {}, ...tagsOf(w), ' ', el('span', {textContent: w.title}));
  const until = (key, at) => running(() => (Date.parse(at) > now() ? say(words[key], left(Date.parse(at) - now()), clock(at)) : words[`${key}.over`]));
  if (w.ready) line.append(el('span', {className: 'state dry'}, until('ready', w.ready)));
  if (w.closes) line.append(el('span', {className: 'state late'}, until('closes', w.closes)));
  return line;
}

// whatOf says in words what a record in the queue is.
function whatOf(r) {
  const key = r.kind === 'direct' ? r.body.do : r.ends ? 'off' : r.end ? 'span' : 'on';
  const at = clock(r.start ? r.start.wall : r.mark.wall);
  return key === 'span' ? say(words['waits.span'], nameOf(r.about), at, clock(r.end.wall)) : say(words[`waits.${key}`], nameOf(r.about), at);
}

function showQueue(v) {
  const waiting = v.queue.filter((r) => waits(r) && !(v.busy && r.kind === 'direct' && r.tries < 2));
  const turned = v.queue.filter((r) => !waits(r));
  hidden('waiting-box', waiting.length === 0);
  fill('waiting', waiting.map((r) => el('li', {textContent: whatOf(r)})));
  hidden('turned-box', turned.length === 0);
  refill('turned', turned.map((r) => el('li', {}, el('strong', {textContent: whatOf(r)}), el('span', {textContent: ` ${r.sentence}`}),
    el('button', {id: `seen-${r.n}`, className: 'end', textContent: words.seen, onclick: () => v.act('seen', r.n)}))));
}

function showTools({state, at}) {
  const j = at.on || at.paused || {};
  const q = new URLSearchParams();
  if (j.tag) q.set('piece', j.tag);
  if (j.stage) q.set('stage', j.stage);
  $('take').href = `/bench/take?${q}`;
  $('photo').href = `/bench/photo?${q}`;
  $('defect').href = `/bench/photo?moment=defect&${q}`;
  $('day').textContent = say(words.day, state.worked, state.shift || '–');
  $('reviews').textContent = state.reviews;
}

// show puts everything where it belongs.
export function show(v) {
  hidden('away', !v.away);
  hidden('stranger', !v.stranger && (Boolean(v.state) || !v.looked));
  $('stranger').firstElementChild.textContent = v.stranger || words.nobody;
  hidden('trouble', !v.trouble);
  $('trouble').textContent = v.trouble;
  if (!v.state) return;
  zone = {timeZone: v.state.zone, hour12: v.state.half};
  $('who').textContent = v.state.name;
  const next = nextOf(v);
  showNow(v);
  showNext(v, next);
  showGrip(v, next);
  showQueue(v);
  showAsks(v);
  showLists(v);
  showTools(v);
  hidden('other-box', false);
  for (const b of document.querySelectorAll('[data-indirect]')) {
    b.onclick = () => v.act('choose', {indirect: b.dataset.indirect, title: b.dataset.title, tags: [], can: true, cautions: [], mine: true});
  }
}
