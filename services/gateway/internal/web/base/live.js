// Keeps what is marked on a page up to date:
//
//   <section data-live="floor stock" data-from="/day/rack">…</section>
//
// is fetched anew from data-from when something of those subjects changes, and replaced when it
// differs. A tab that nobody sees waits until it is seen.
'use strict';
(() => {
  const sections = () => [...document.querySelectorAll('[data-live]')];
  const stale = new Set();
  const running = new Map();

  async function renew(section) {
    if (running.has(section)) { running.set(section, true); return; }
    running.set(section, false);
    try {
      const headers = section.dataset.etag ? {'If-None-Match': section.dataset.etag} : {};
      const answer = await fetch(section.dataset.from, {headers, credentials: 'same-origin'});
      if (answer.status === 401) { location.reload(); return; }
      if (answer.status !== 304 && answer.ok) put(section, await answer.text(), answer.headers.get('ETag'));
    } catch { stale.add(section); } finally {
      const again = running.get(section);
      running.delete(section);
      if (again) setTimeout(() => renew(section), 150);
    }
  }

  // put replaces a section's content, and gives the focus back to what had it. What somebody types
  // into stays as it is until they leave it, and what a script holds (data-held) until it lets go.
  function put(section, html, etag) {
    if (section.dataset.held) return;
    const at = document.activeElement;
    if (section.contains(at) && at.matches('input, select, textarea')) {
      at.addEventListener('blur', () => renew(section), {once: true});
      return;
    }
    const id = section.contains(at) ? at.id || at.getAttribute('href') : null;
    section.innerHTML = html;
    if (etag) section.dataset.etag = etag;
    if (id) {
      const same = section.querySelector(`#${CSS.escape(id)}, [href="${CSS.escape(id)}"]`);
      if (same) same.focus({preventScroll: true});
    }
    section.dispatchEvent(new CustomEvent('renewed', {bubbles: true}));
  }

  document.addEventListener('released', (e) => renew(e.target));

  function changed(subject) {
    for (const s of sections()) {
      if (!s.dataset.live.split(' ').includes(subject)) continue;
      if (document.hidden) stale.add(s); else renew(s);
    }
  }

  document.addEventListener('visibilitychange', () => {
    if (document.hidden) return;
    for (const s of stale) renew(s);
    stale.clear();
  });

  const lost = document.querySelector('.lost');
  function say(away) {
    if (lost) { lost.hidden = !away; lost.textContent = away ? document.body.dataset.liveLost : ''; }
  }

  if (sections().length) {
    let away = false;
    const source = new EventSource('/live');
    for (const subject of ['floor', 'stock', 'money']) source.addEventListener(subject, () => changed(subject));
    // What changed between the page and the line, or while the line was down, nobody told.
    source.onopen = () => { say(false); away = false; sections().forEach(renew); };
    source.onerror = () => { away = true; setTimeout(() => { if (away) say(true); }, 3000); };
  }

  // A form that changes something is sent once, however often its button is pressed; one that asks for a second thought
  // says why.
  document.addEventListener('submit', (e) => {
    const form = e.target;
    if (form.dataset.ask && !confirm(form.dataset.ask)) { e.preventDefault(); return; }
    if (form.method === 'get') return;
    if (form.dataset.sent) { e.preventDefault(); return; }
    form.dataset.sent = 'yes';
    setTimeout(() => { delete form.dataset.sent; }, 5000);
  });
})();
