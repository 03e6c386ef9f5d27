// A photo goes to the shop in slices. Where one does not arrive, it is asked how much did, and sent on from there: a
// phone between two rooms loses its network for a moment, and not the picture. Without this script the form sends the
// file at once.
'use strict';
(() => {
  const slice = 256 * 1024;
  const patience = 30000; // ms, for one slice
  const tries = 10;

  const rest = (ms) => new Promise((done) => {
    const wake = () => { clearTimeout(timer); removeEventListener('online', wake); done(); };
    const timer = setTimeout(wake, ms);
    addEventListener('online', wake);
  });

  // once gives the answer to one slice; nothing where the shop was not reached.
  async function once(url, options) {
    try {
      const answer = await fetch(url, {credentials: 'same-origin', signal: AbortSignal.timeout(patience), ...options});
      return answer.status === 429 || answer.status >= 502 ? undefined : answer;
    } catch {
      return undefined;
    }
  }

  function sliceOf(fields, file, at) {
    const body = new FormData();
    for (const [name, value] of fields) body.append(name, value);
    body.append('resume_at', at);
    body.append(at + slice < file.size ? 'more_follows' : 'by_script', '1');
    body.append('photo', file.slice(at, at + slice), file.name);
    return body;
  }

  async function kept(request) {
    const answer = await once('/photo-uploads/' + request, {cache: 'no-store'});
    return answer && answer.ok ? Number(await answer.text()) : undefined;
  }

  // sendAll gives the last answer; nothing where the shop stays away.
  async function sendAll(form, fields, file, tell) {
    let at = (form.dataset.tried && await kept(fields.get('request_id'))) || 0;
    form.dataset.tried = 'yes';
    for (let failed = 0; failed < tries;) {
      tell(at / file.size);
      const answer = await once(form.action, {method: 'POST', body: sliceOf(fields, file, at)});
      if (answer && answer.status === 204) {
        at += slice;
        failed = 0;
        continue;
      }
      const elsewhere = answer && answer.headers.get('X-Tackfree-Reason') === 'PHOTO_GOES_ON_ELSEWHERE';
      if (answer && !elsewhere) return answer;
      failed += 1;
      await rest(Math.min(250 * 2 ** failed, 15000));
      const from = await kept(fields.get('request_id'));
      if (from !== undefined) at = from < file.size ? from : 0;
    }
    return undefined;
  }

  addEventListener('submit', async (e) => {
    const form = e.target;
    const file = form.dataset.slices && form.elements.photo.files[0];
    if (!file) return;
    e.preventDefault();
    const fields = new FormData(form);
    fields.delete('photo');
    const button = form.querySelector('button:not([type=button])');
    const told = form.querySelector('[role=status]');
    button.disabled = true;
    const tell = (share) => { told.textContent = form.dataset.slices.replace('%', Math.floor(share * 100) + ' %'); };
    const answer = await sendAll(form, fields, file, tell);
    if (answer && answer.ok) {
      location.assign(await answer.text());
      return;
    }
    button.disabled = false;
    told.textContent = form.dataset.away;
    if (answer) { // the page that says why not
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      document.querySelector('main').replaceWith(page.querySelector('main'));
    }
  });
})();
