// What somebody has opened stays open when a band is fetched anew; a suggested day is put into its form.
'use strict';
(() => {
  const opened = new Set();
  const closed = new Set();
  document.addEventListener('toggle', (e) => {
    if (!e.target.id || !e.target.isConnected) return;
    (e.target.open ? opened : closed).add(e.target.id);
    (e.target.open ? closed : opened).delete(e.target.id);
  }, true);
  document.addEventListener('renewed', (e) => {
    for (const d of e.target.querySelectorAll('details[id]')) {
      if (opened.has(d.id)) d.open = true;
      if (closed.has(d.id)) d.open = false;
    }
  });
  document.addEventListener('click', (e) => {
    const button = e.target.closest('button[data-day]');
    if (!button) return;
    e.preventDefault();
    button.form.elements.day.value = button.dataset.day;
    button.form.elements.time.value = button.dataset.time;
    button.form.elements.day.focus();
  });
})();
