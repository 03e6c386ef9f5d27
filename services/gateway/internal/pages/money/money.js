// Says how long the books have been compared for, while the answer is waited for.
'use strict';
(() => {
  const form = document.getElementById('compare');
  if (!form) return;
  form.addEventListener('submit', (e) => {
    if (e.defaultPrevented) return;
    const status = form.querySelector('[role=status]');
    const began = performance.now();
    const say = () => {
      const s = Math.floor((performance.now() - began) / 1000);
      status.textContent = `${form.dataset.running} ${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')}`;
    };
    status.hidden = false;
    form.querySelector('button').disabled = true;
    say();
    setInterval(say, 1000);
  });
})();
