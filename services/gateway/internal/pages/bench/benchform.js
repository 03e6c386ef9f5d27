// Forms of the bench: big steps for amounts, the camera for codes, and what is wrong before what was noted of it.
const steps = {mL: 50, L: 0.25, floz: 2, qt: 0.25, gal: 0.25, g: 50, kg: 0.1, oz: 2, lb: 0.25, m: 0.5, cm: 10, ft: 1, in: 6};

for (const b of document.querySelectorAll('[data-step]')) {
  b.addEventListener('click', () => {
    const amount = document.getElementById('amount');
    const by = steps[document.querySelector('[name=unit]').value] || 1;
    const is = Number(amount.value.replace(',', '.')) || 0;
    amount.value = String(Math.max(0, Math.round((is + by * Number(b.dataset.step)) * 100) / 100));
  });
}

const kind = document.querySelector('[data-kind]');
if (kind) {
  kind.form.addEventListener('formdata', (e) => {
    if (kind.value) e.formData.set('note', [kind.value, e.formData.get('note')].filter(Boolean).join(': '));
  });
}

// whither is where a code leads: that of a can or a piece, and nothing else that somebody may have printed.
function whither(code, purpose) {
  const url = URL.canParse(code, location.href) ? new URL(code, location.href) : null;
  const found = url && url.pathname.match(/^\/(cans|pieces)\/([\w-]+)$/);
  if (!found) return '';
  const here = new URLSearchParams(location.search);
  here.set(found[1] === 'cans' ? 'can' : 'piece', found[2]);
  if (purpose && purpose !== 'photo' && !here.has('can')) here.set('can', purpose);
  return `${location.pathname}?${here}`;
}

// scan looks through the camera until it sees a code of this shop.
async function scan(purpose, texts) {
  const [dialog, video, close] = ['dialog', 'video', 'button'].map((n) => document.createElement(n));
  [close.textContent, video.className, video.muted, video.playsInline] = [texts.scanClose, 'eye', true, true];
  dialog.setAttribute('aria-label', texts.scanClose);
  dialog.append(video, close);
  document.body.append(dialog);
  let stream = null;
  close.addEventListener('click', () => dialog.close());
  dialog.addEventListener('close', () => { if (stream) stream.getTracks().forEach((t) => t.stop()); dialog.remove(); });
  dialog.showModal();
  try {
    stream = await navigator.mediaDevices.getUserMedia({video: {facingMode: 'environment'}});
    video.srcObject = stream;
    await video.play();
    const eye = new BarcodeDetector({formats: ['qr_code']});
    while (dialog.open) {
      for (const {rawValue} of await eye.detect(video)) {
        const to = whither(rawValue, purpose);
        if (to) { location.assign(to); dialog.close(); return; }
      }
      await new Promise((next) => { setTimeout(next, 150); });
    }
  } catch {
    if (dialog.open) video.replaceWith(Object.assign(document.createElement('p'), {textContent: texts.scanNone}));
  }
}

if ('BarcodeDetector' in window && navigator.mediaDevices) {
  for (const b of document.querySelectorAll('[data-scan]')) {
    b.hidden = false;
    b.addEventListener('click', () => scan(b.dataset.scan, document.querySelector('[data-scan-close]').dataset));
  }
}
