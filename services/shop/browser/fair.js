// Looks a page over as somebody who cannot see well, has no mouse, or a small phone would meet it, and
// gives what is in the way. Rules of WCAG 2.2 AA: 1.1.1, 1.3.1, 1.4.3, 1.4.10, 2.4.3, 2.4.7, 2.5.8, 3.1.1, 3.3.2, 4.1.2.
(() => {
  const found = [];
  const say = (rule, el, more = '') => found.push(`${rule}: ${el.outerHTML ? el.outerHTML.slice(0, 140) : el} ${more}`);
  const shown = (el) => el.checkVisibility({visibilityProperty: true}) && el.getClientRects().length > 0;
  const name = (el) => (el.getAttribute('aria-label') || (el.getAttribute('aria-labelledby') || '').split(' ').map((i) => (document.getElementById(i) || {}).innerText || '').join('') ||
    (el.labels && [...el.labels].map((l) => l.innerText).join(' ')) || el.innerText || el.getAttribute('alt') || el.title || [...el.querySelectorAll('img[alt], svg title')].map((x) => x.alt || x.textContent).join('') || '').trim();

  if (!document.documentElement.lang) say('no language', 'html');
  if (!document.title) say('no title', 'html');
  if (document.querySelectorAll('h1').length !== 1) say('not one h1', 'html', document.querySelectorAll('h1').length);
  if (document.querySelectorAll('main').length !== 1) say('not one main', 'html');
  let level = 0;
  for (const h of document.querySelectorAll('h1,h2,h3,h4')) {
    const at = +h.tagName[1];
    if (at > level + 1) say('heading skips a level', h);
    level = at;
  }
  const ids = new Set();
  for (const el of document.querySelectorAll('[id]')) { if (ids.has(el.id)) say('id twice', el); ids.add(el.id); }
  for (const img of document.querySelectorAll('img')) if (!img.hasAttribute('alt')) say('picture without words', img);
  for (const svg of document.querySelectorAll('svg')) if (!svg.getAttribute('aria-hidden') && !(['img', 'group'].includes(svg.getAttribute('role')) && name(svg)) && !svg.closest('[aria-hidden]')) say('drawing without words', svg);
  for (const el of document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')) {
    if (!shown(el)) continue;
    if (!name(el)) say('no name', el);
    if (el.tabIndex > 0) say('order of focus is forced', el);
    const box = el.getBoundingClientRect();
    const inline = el.matches('a') && getComputedStyle(el).display === 'inline';
    if (!inline && !el.matches('[type=radio],[type=checkbox]') && (box.width < 24 || box.height < 24)) say('too small to hit', el, `${box.width}x${box.height}`);
  }
  for (const th of document.querySelectorAll('table')) if (!th.querySelector('th')) say('table without headings', th);
  for (const t of document.querySelectorAll('table')) if (!t.caption && !t.getAttribute('aria-label') && !t.getAttribute('aria-labelledby')) say('table without a name', t);

  // Contrast of text with what is behind it.
  const parse = (c) => { const m = c.match(/[\d.]+/g).map(Number); return m.length < 4 ? [...m, 1] : m; };
  const over = (top, under) => top.slice(0, 3).map((v, i) => v * top[3] + under[i] * (1 - top[3]));
  const behind = (el) => {
    const layers = [];
    for (let e = el; e; e = e.parentElement) { const c = parse(getComputedStyle(e).backgroundColor); layers.push(c); if (c[3] === 1) break; }
    return layers.reverse().reduce((under, c) => over(c, under), [255, 255, 255]);
  };
  const light = (c) => { const [r, g, b] = c.map((v) => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const seen = new Set();
  for (let n = walk.nextNode(); n; n = walk.nextNode()) {
    const el = n.parentElement;
    if (!n.data.trim() || seen.has(el) || !shown(el) || el.closest('[disabled], .hide, script, style, option')) continue;
    seen.add(el);
    const style = getComputedStyle(el);
    const under = behind(el);
    const ink = over(parse(el instanceof SVGElement ? style.fill : style.color), under);
    const [a, b] = [light(ink), light(under)].sort((x, y) => y - x);
    const big = parseFloat(style.fontSize) >= 24 || (parseFloat(style.fontSize) >= 18.66 && +style.fontWeight >= 700);
    const ratio = (a + 0.05) / (b + 0.05);
    if (!(el instanceof SVGElement) && ratio < (big ? 3 : 4.5)) say('too faint', el, ratio.toFixed(2));
  }
  // Nothing is wider than the window, apart from what scrolls by itself.
  if (document.documentElement.scrollWidth > innerWidth + 1) {
    for (const el of document.querySelectorAll('body *')) {
      if (el.getBoundingClientRect().right > innerWidth + 1 && shown(el) && !el.closest('.scroll')) { say('wider than the window', el); break; }
    }
    if (!found.some((f) => f.startsWith('wider'))) say('wider than the window', 'html');
  }
  return found;
})()
