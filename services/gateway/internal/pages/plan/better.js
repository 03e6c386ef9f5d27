// A better plan is looked for while its page stays: each line of the answer is a part of the page, the last one
// what was found. Without this script the form is sent as it is, and its answer is the page when it is done.
'use strict';
(() => {
  const form = document.querySelector('#better'), says = document.querySelector('#better-says'), out = document.querySelector('#better-out');
  if (!form || !window.TextDecoderStream) return;
  const button = form.querySelector('button');
  let looking = false;

  // put shows a line, and reports whether it was the last.
  function put(line) {
    const told = JSON.parse(line);
    if (told.wrong) { fail(told.wrong); return true; }
    out.innerHTML = told.part;
    if (told.done) {
      says.textContent = '';
      out.querySelector('h2').focus({preventScroll: false});
    }
    return told.done;
  }

  function fail(text) {
    out.textContent = '';
    says.textContent = text;
  }

  async function follow(answer) {
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    let text = '', last = false;
    for (;;) {
      const {value, done} = await reader.read();
      if (done) break;
      text += value;
      const lines = text.split('\n');
      text = lines.pop();
      for (const line of lines) last = put(line) || last;
    }
    if (!last) fail(document.body.dataset.liveLost);
  }

  form.addEventListener('submit', async (e) => {
    e.preventDefault();
    if (looking) return;
    looking = button.disabled = true;
    out.textContent = '';
    says.textContent = form.dataset.looking;
    try {
      const answer = await fetch(form.action, {method: 'POST', credentials: 'same-origin', body: new URLSearchParams(new FormData(form)),
        headers: {'X-Tackfree-Form': document.body.dataset.form, Accept: 'text/event-stream'}});
      if (answer.ok) await follow(answer); else fail((await answer.json()).error.message);
    } catch { fail(document.body.dataset.liveLost); }
    looking = button.disabled = false;
  });
})();
