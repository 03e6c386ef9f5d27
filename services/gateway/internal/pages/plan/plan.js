// Pins by hand: a bar is dragged along the time (five minutes at a time) and to another helper's lane, or
// taken up with the space bar and moved by arrow keys (a quarter of an hour at a time). Whatever is held is
// not redrawn under the hand; when it is put down, the plan is fetched anew.
'use strict';
(() => {
  const says = document.querySelector('#plan-says');
  if (!says) return;
  const section = says.parentElement.querySelector('[data-live]');
  const minute = 60000, drag = 5 * minute, key = 15 * minute;
  let held = null; // the bar in hand
  let press = null; // where the mouse went down
  let current = ''; // the id of the bar that the Tab key leads to

  const bars = () => [...section.querySelectorAll('a.bar')];
  const fill = (text, ...words) => words.reduce((t, w) => t.replace('%s', w), text);
  const half = says.dataset.half === 'true';
  // As the page itself writes times: 8:02 pm, whatever the browser's way of saying it.
  const when = (at) => new Intl.DateTimeFormat(document.documentElement.lang, {timeZone: says.dataset.zone, weekday: 'short', hour: half ? 'numeric' : '2-digit', minute: '2-digit', hour12: half}).format(at)
    .replace(/\s*([ap])\.?\s*m\.?$/i, (_, letter) => ` ${letter.toLowerCase()}m`);

  // Where a time is on the axis, and the time of a place; a place in a fold is where work begins again.
  const place = (axis, at) => {
    const s = axis.find(([, , , to]) => at < to) || axis.at(-1);
    return s[0] + s[1] * Math.max(0, Math.min(1, (at - s[2]) / (s[3] - s[2])));
  };
  const timeAt = (axis, x) => {
    const s = axis.find(([left, width]) => x < left + width) || axis.at(-1);
    return s[4] ? s[3] : s[2] + (s[3] - s[2]) * Math.max(0, Math.min(1, (x - s[0]) / s[1]));
  };

  function take(bar) {
    const svg = bar.ownerSVGElement, from = +bar.dataset.from;
    const lanes = [...svg.querySelectorAll('[data-lane]')].map((g) => ({key: g.dataset.lane, name: g.dataset.name, y: +g.dataset.y, h: +g.dataset.h}));
    const lane = lanes.findIndex((l) => l.key === bar.dataset.lane);
    const ghost = document.createElementNS(svg.namespaceURI, 'rect');
    ghost.setAttribute('class', 'ghost');
    ghost.setAttribute('height', bar.querySelector('rect').getAttribute('height'));
    svg.append(ghost);
    held = {bar, svg, lanes, lane, first: lane, from, at: from, long: bar.dataset.to - from, axis: JSON.parse(svg.dataset.axis), ghost};
    section.dataset.held = 'yes';
    show();
  }

  // put has what is held begin at another time, in another lane; never before now.
  function put(at, lane, step) {
    const end = held.axis.at(-1)[3], soonest = Math.max(Date.now(), held.axis[0][2]);
    if (at !== held.from) at = Math.min(end - step, Math.max(Math.ceil(soonest / step) * step, Math.round(at / step) * step));
    held.at = at;
    if (held.svg.dataset.by === 'person' && held.lanes[lane] && held.lanes[lane].key !== '-') held.lane = lane;
    show();
  }

  function show() {
    const {ghost, axis, at, long, lanes, lane} = held, x = place(axis, at);
    ghost.setAttribute('x', x);
    ghost.setAttribute('y', lanes[lane].y + 4);
    ghost.setAttribute('width', Math.max(4, place(axis, at + long) - x));
    says.textContent = fill(says.dataset.would, held.bar.dataset.what, lanes[lane].name, when(at));
  }

  function drop(text) {
    held.ghost.remove();
    held = null;
    delete section.dataset.held;
    says.textContent = text;
    section.dispatchEvent(new CustomEvent('released', {bubbles: true}));
  }

  async function send(to, fields, done) {
    try {
      const answer = await fetch(to, {method: 'POST', credentials: 'same-origin', body: new URLSearchParams(fields),
        headers: {'X-Tackfree-Form': document.body.dataset.form}});
      return answer.ok ? done : (await answer.json()).error.message;
    } catch { return document.body.dataset.liveLost; }
  }

  async function pin() {
    const {bar, svg, lanes, lane, at, from} = held, by = svg.dataset.by === 'person';
    const person = by && lanes[lane].key !== '-' ? lanes[lane].key : bar.dataset.personPinned ? bar.dataset.person : '';
    const start = at !== from || bar.dataset.timePinned || !person ? new Date(at).toISOString() : '';
    const mine = held;
    const text = await send('/plan/pin', {stage: bar.dataset.stage, person, at: start}, fill(says.dataset.pinned, bar.dataset.what, lanes[lane].name, when(at)));
    if (held === mine) drop(text);
  }

  // A quarter of an hour on or back, over what is folded at once.
  function step(by) {
    let at = held.at + by;
    const fold = held.axis.find((s) => s[4] && at >= s[2] && at < s[3]);
    if (fold) at = by > 0 ? fold[3] : fold[2] - key;
    put(at, held.lane, key);
  }

  const moves = {ArrowLeft: () => step(-key), ArrowRight: () => step(key), ArrowUp: () => put(held.at, held.lane - 1, key), ArrowDown: () => put(held.at, held.lane + 1, key),
    Enter: pin, ' ': pin, Escape: () => drop(says.dataset.left)};

  // Without a bar in hand the arrow keys go from bar to bar: along a lane, and to what is nearest in the next.
  function walk(bar, name) {
    const all = bars(), lanes = [...new Set(all.map((b) => b.dataset.lane))];
    const same = (lane) => all.filter((b) => b.dataset.lane === lane);
    if (name === 'ArrowLeft' || name === 'ArrowRight') {
      const row = same(bar.dataset.lane);
      return row[row.indexOf(bar) + (name === 'ArrowRight' ? 1 : -1)];
    }
    const row = same(lanes[lanes.indexOf(bar.dataset.lane) + (name === 'ArrowDown' ? 1 : -1)]);
    return row.sort((a, b) => Math.abs(a.dataset.from - bar.dataset.from) - Math.abs(b.dataset.from - bar.dataset.from))[0];
  }

  function rove(bar) {
    current = bar ? bar.id : '';
    for (const b of bars()) b.setAttribute('tabindex', b === bar ? '0' : '-1');
  }
  const settle = () => rove(bars().find((b) => b.id === current) || bars()[0]);

  section.addEventListener('focusin', (e) => { const bar = e.target.closest('a.bar'); if (bar) rove(bar); });
  section.addEventListener('renewed', settle);
  settle();

  section.addEventListener('keydown', async (e) => {
    const bar = e.target.closest('a.bar');
    if (!bar || e.ctrlKey || e.metaKey || e.altKey) return;
    if (held) {
      if (moves[e.key]) { e.preventDefault(); moves[e.key](); }
    } else if (e.key === ' ' && !bar.classList.contains('in-work')) {
      e.preventDefault();
      take(bar);
    } else if (e.key.startsWith('Arrow')) {
      e.preventDefault();
      const next = walk(bar, e.key);
      if (next) next.focus();
    } else if (e.key === 'Delete' && (bar.dataset.personPinned || bar.dataset.timePinned)) {
      says.textContent = await send('/plan/unpin', {stage: bar.dataset.stage}, says.dataset.unpinned);
      section.dispatchEvent(new CustomEvent('released', {bubbles: true}));
    }
  });
  section.addEventListener('focusout', () => { if (held && !press) drop(says.dataset.left); });

  section.addEventListener('dragstart', (e) => e.preventDefault());
  section.addEventListener('pointerdown', (e) => {
    const bar = e.target.closest('a.bar');
    if (!bar || e.button !== 0 || held || bar.classList.contains('in-work')) return;
    press = {bar, x: e.clientX, y: e.clientY, moved: false};
    bar.setPointerCapture(e.pointerId);
  });
  section.addEventListener('pointermove', (e) => {
    if (!press || !press.bar.isConnected || (!press.moved && Math.hypot(e.clientX - press.x, e.clientY - press.y) < 5)) return;
    if (!press.moved) { press.moved = true; take(press.bar); }
    if (!held) return;
    const scale = held.svg.getBoundingClientRect().width / held.svg.viewBox.baseVal.width;
    const y = (e.clientY - held.svg.getBoundingClientRect().top) / scale, dx = (e.clientX - press.x) / scale;
    const at = Math.abs(dx) < 3 ? held.from : timeAt(held.axis, place(held.axis, held.from) + dx);
    put(at, held.lanes.findIndex((l) => y >= l.y && y < l.y + l.h), drag);
  });
  section.addEventListener('pointerup', () => {
    if (press && press.moved && held) {
      if (held.at === held.from && held.lane === held.first) drop(says.dataset.left); else pin();
    }
    if (press && !press.moved) press = null;
  });
  section.addEventListener('pointercancel', () => { if (held) drop(says.dataset.left); press = null; });
  document.addEventListener('keydown', (e) => { if (e.key === 'Escape' && press && held) drop(says.dataset.left); });
  // The click that ends a drag opens nothing.
  section.addEventListener('click', (e) => { if (press && press.moved) e.preventDefault(); press = null; }, true);
})();
