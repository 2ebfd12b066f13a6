// One cursor over everything: whatever sets it, all that shows a moment follows in the same frame.
let cursor = from, chosen = -1, asked = false;
const line = el('div', 'cursorline'), ghost = el('div', 'ghostline'), selection = el('div', 'selection');
const valueRows = [], lampCells = [];

function setCursor(t, source) {
  cursor = Math.min(to, Math.max(from, t));
  // Playing past the end of a window turns the page.
  if (screen.playing && (cursor > view.to || cursor < view.from)) { const width = view.to - view.from; setView(cursor, cursor + width); }
  screen.move(false, source);
  show();
}
// Draws once a frame however often it is asked.
function show() {
  if (asked) return;
  asked = true;
  requestAnimationFrame(() => { asked = false; moveAll(); });
}
function moveAll() {
  const inside = cursor >= view.from && cursor <= view.to, x = laneBox.left + laneBox.width * (cursor - view.from) / (view.to - view.from);
  line.style.display = inside ? '' : 'none';
  line.style.transform = `translateX(${x}px)`;
  for (const lane of lanes) if (lane.plotted || lane.made) lane.move(x, inside);
  profile.move();
  track.move();
  const t = filmTime(cursor), f = inFilm(cursor);
  $('clock').textContent = f ? clockText(t, 1) : clockText(cursor, 1);
  $('utc').textContent = [utcText(cursor) && `${utcText(cursor)} UTC`, f ? 'film time' : 'session time'].filter(Boolean).join(' · ');
  const phase = phaseAt(cursor);
  $('cursor-when').dataset.at = cursor;
  $('cursor-when').textContent = `session ${clockText(cursor, 1)}${phase ? ', ' + phase.name.toLowerCase() : ''}`;
  for (const [row, cell] of lampCells) { const { text, grade } = row.at(cursor); if (cell.textContent !== text) { cell.textContent = text; cell.dataset.grade = grade; } }
  for (const [c, value, state, mark] of valueRows) {
    const r = c.at(cursor), text = readingText(c, r), word = r.state === 'stale' ? `stale ${lasted(r.age)}` : STATES[r.state];
    if (value.textContent !== text) value.textContent = text;
    // The whole number, for whoever wants to copy it.
    value.title = r.value === null ? '' : String(r.value);
    if (state.textContent !== word) { state.textContent = word; state.className = `state ${r.state}`; }
    if (mark) { const shown = r.value !== null; mark.style.display = shown ? '' : 'none'; if (shown) mark.setAttribute('transform', `translate(${4 + 92 * Math.min(1, Math.max(0, c.place(r.value)))} 0)`); }
  }
}

// Every channel at the cursor, in words: also what a reader who sees no plot has of them.
function valueTable() {
  const row = c => {
    const value = el('b', '', { 'data-channel': c.index }), state = el('span', 'state'), bar = scaleBar(c);
    valueRows.push([c, value, state, bar ? bar.querySelector('.mark') : null]);
    return el('tr', '', { title: c.name }, el('th', '', c.label, { scope: 'row' }), el('td', 'place', bar), el('td', 'num', value), el('td', 'unit', c.unit), el('td', 'grade', state));
  };
  const lamp = made => {
    const value = el('b', 'now');
    lampCells.push([lampRow(made), value]);
    return el('tr', '', el('th', '', sentence(made.subject), { scope: 'row' }), el('td', 'place'), el('td', 'num', value), el('td', 'unit'), el('td', 'grade', el('span', 'state', 'lamp')));
  };
  const head = () => el('thead', 'unseen', el('tr', '', ...['Channel', 'Place on its scale', 'Value', 'Unit', 'State'].map(h => el('th', '', h, { scope: 'col' }))));
  const recorded = channels.filter(c => !c.derived && !c.is_lamp), computed = channels.filter(c => c.derived);
  $('values').append(el('table', 'values', head(), el('tbody', '', ...recorded.map(row), ...drawn.lamps.map(lamp))));
  if (computed.length) $('values').append(folded(`Computed channels, ${computed.length}`, () => el('table', 'values', head(), el('tbody', '', ...computed.map(row)))));
}
// The owner's marks of a channel in one line, with a wedge where the value stands.
function scaleBar(c) {
  if (!c.marks.length) return null;
  const { y } = makeScale(c, []);
  c.place = y;
  const x = v => 4 + 92 * Math.min(1, Math.max(0, y(v)));
  const g = svg('svg', { viewBox: '0 0 100 20', class: 'scale', 'aria-hidden': 'true' }, svg('path', { d: 'M4 9H96', class: 'base' }));
  for (const m of c.marks) {
    const [a, b] = [x(m.from), x(m.to)].sort((p, q) => p - q);
    if (m.off) continue;
    if (m.kind === 'normal') g.append(svg('path', { d: `M${a} 9H${b}`, class: 'normal' }));
    if (m.kind === 'precaution') for (let p = a; p < b - 1; p += 4) g.append(svg('path', { d: `M${p} 9H${Math.min(b, p + 2.8)}`, class: 'precaution' }));
    if (m.kind === 'limit') g.append(svg('path', { d: `M${a} 4V10M${a - 2.5} 3.5H${a + 2.5}`, class: 'limit' }));
    if (m.kind === 'forbidden') g.append(svg('path', { d: `M${a} 5H${b}`, class: 'limit' }));
  }
  g.append(svg('path', { d: 'M0 11L3.2 18H-3.2Z', class: 'mark' }));
  return g;
}

function makeLanes() {
  const box = $('lanes');
  const rulerBox = el('div', 'ruler', el('div', 'rulertile', el('span', '', 'phase'), el('span', '', 'session time')), el('div', 'rulerpins'), el('div', 'rulerphases'), el('div', 'rulertimes'));
  box.append(rulerBox);
  const lamps = drawn.lamps.map(lampRow), alerts = drawn.alerts.map(alertRow);
  const group = (name, note, tag, closed) => {
    const head = el('h3', '', name, tag ? el('i', '', tag) : null, note ? el('span', '', note) : null);
    const it = closed ? el('details', 'group', el('summary', '', head)) : el('div', 'group', head);
    box.append(it);
    return it;
  };
  const withRows = () => {
    if (drawn.controls.length) lanes.push(new Controls(drawn.controls, group('Controls', 'as far as their travel goes')));
    if (lamps.length) lanes.push(new Rows(lamps, group('Lamps', 'as recorded')));
    if (alerts.length) lanes.push(new Rows(alerts, group('Limits', 'by the owner’s rules; a recorded lamp is never made from them', 'calc')));
  };
  let first = true;
  for (const g of drawn.groups) {
    if (!g.lanes.length) continue;
    const rates = g.lanes.flat().map(i => told.data_quality.find(q => q.channel === channels[i].name)).filter(q => q && q.rate_hz).map(q => q.rate_hz);
    const pace = rates.length ? [...rates].sort((a, b) => a - b)[rates.length >> 1] : null;
    const note = [g.file, pace === null ? null : pace >= 1.5 ? `${number(pace, 0)} records a second` : pace >= 0.95 ? 'a record a second' : `a record every ${number(1 / pace, 1)} s`, g.fit ? (g.parts > 1 ? `${g.parts} parts, a clock each` : 'one clock') : 'its clock is joined to no other'].filter(Boolean).join(' · ');
    // Many computed channels would push what was recorded out of sight.
    const it = group(g.file === null ? `Computed, ${g.lanes.flat().length} channels` : sentence(g.name), note, g.file === null ? 'calc' : null, g.file === null && g.lanes.length > 6);
    const texts = [];
    for (const list of g.lanes) {
      if (channels[list[0]].texts) texts.push(textRow(channels[list[0]]));
      else lanes.push(new Lane(list.map(i => channels[i]), it));
    }
    if (texts.length) lanes.push(new Rows(texts, it));
    if (first) { withRows(); first = false; }
  }
  if (first) withRows();
  box.append(ghost, selection, line);
  const seen = new IntersectionObserver(entries => {
    for (const entry of entries) {
      const lane = entry.target.lane;
      lane.visible = entry.isIntersecting;
      if (lane.visible && (!lane.plotted && !lane.made || lane.dirty)) { lane.make(); lane.draw_soon(); show(); }
    }
  }, { rootMargin: '300px' });
  for (const lane of lanes) { lane.row.lane = lane; seen.observe(lane.row); }
  pointers(box);
}

function layout(width) {
  const box = $('lanes'), all = width || box.clientWidth, narrow = all < 560;
  laneBox.stacked = narrow;
  document.documentElement.style.setProperty('--rowheight', `${laneBox.paper ? 22 : 30}px`);
  laneBox.tile = narrow ? 0 : 128; laneBox.axis = narrow ? 48 : 60; laneBox.right = narrow ? 10 : 18;
  laneBox.plot = Math.max(160, all - laneBox.tile);
  laneBox.left = laneBox.tile + laneBox.axis; laneBox.width = laneBox.plot - laneBox.axis - laneBox.right;
  box.classList.toggle('stacked', narrow);
  for (const lane of lanes) lane.plot.style.height = `${lane.height()}px`;
  drawRuler();
  for (const lane of lanes) lane.draw_soon();
  profile.draw(); track.draw(); compare.draw(); moveAll();
}
function drawRuler() {
  laneBox.times = ruler(view.from, view.to, laneBox.width).map(t => t[0]);
  const x = t => laneBox.left + laneBox.width * (t - view.from) / (view.to - view.from), within = t => t >= view.from && t <= view.to;
  const labels = ruler(view.from, view.to, laneBox.width).map(([t, text]) => { const it = el('span', '', text); it.style.left = `${Math.min(x(t), laneBox.left + laneBox.width - 16)}px`; return it; });
  document.querySelector('.rulertimes').replaceChildren(...labels);
  const phases = told.phases.filter(p => p.to_s > view.from && p.from_s < view.to).map(p => {
    const a = Math.max(x(p.from_s), laneBox.left), b = Math.min(x(p.to_s), laneBox.left + laneBox.width), name = sentence(p.name);
    const it = el('span', told.phases.indexOf(p) % 2 ? 'odd' : '', b - a > name.length * 7.4 + 8 ? name : '', { title: name });
    it.style.left = `${a}px`; it.style.width = `${b - a}px`;
    return it;
  });
  document.querySelector('.rulerphases').replaceChildren(...phases);
  const pins = pinRows(moments.filter(m => within(m.at) && (m.what !== 'event' || m.severity)), t => x(Math.min(Math.max(t, view.from), view.to)), 26, 1);
  document.querySelector('.rulerpins').replaceChildren(...pins.map(pin => { const b = pinButton(pin, 'pin'); b.style.left = `${Math.min(Math.max(pin.x, laneBox.left), laneBox.left + laneBox.width)}px`; return b; }));
  markPins();
}
function markPins() {
  for (const pin of document.querySelectorAll('.pin')) pin.classList.toggle('chosen', pin.dataset.all.split(' ').includes(String(chosen)));
}

function setView(a, b) {
  const width = Math.min(to - from || 1, Math.max(0.5, b - a));
  a = Math.min(Math.max(from, a), to - width);
  [view.from, view.to] = [a, a + width];
  drawRuler();
  for (const lane of lanes) lane.draw_soon();
  show();
}
function zoom(by, about = cursor) {
  const at = about >= view.from && about <= view.to ? about : (view.from + view.to) / 2, share = (at - view.from) / (view.to - view.from), width = (view.to - view.from) * by;
  setView(at - share * width, at + (1 - share) * width);
}

function choose(i, focus) {
  const m = moments[i];
  if (!m) return;
  chosen = i;
  for (const open of document.querySelectorAll('tr.detail')) open.remove();
  for (const row of document.querySelectorAll('tr[data-moment]')) {
    const is = Number(row.dataset.moment) === i;
    if (is) row.setAttribute('aria-current', 'true'); else row.removeAttribute('aria-current');
    if (is) row.after(eventDetail(m));
    if (is && focus) row.scrollIntoView({ block: 'nearest' });
  }
  markPins();
  if (m.at < view.from || m.at > view.to) { const half = (view.to - view.from) / 2; setView(m.at - half, m.at + half); }
  setCursor(m.at);
  $('spoken').textContent = clean(`Event ${m.no} of ${moments.length}: ${m.name}, ${m.value || m.lasted}, at ${whenText(m.at)}`);
}
const step = by => {
  if (!moments.length) return;
  if (chosen < 0 || Math.abs(moments[chosen].at - cursor) > 0.01) {
    const after = moments.findIndex(m => m.at > cursor + 0.01);
    return choose(by > 0 ? (after < 0 ? moments.length - 1 : after) : Math.max(0, (after < 0 ? moments.length : after) - 1), true);
  }
  choose(Math.min(moments.length - 1, Math.max(0, chosen + by)), true);
};

function pointers(box) {
  const time = e => view.from + (view.to - view.from) * Math.min(1, Math.max(0, (e.clientX - box.getBoundingClientRect().left - laneBox.left) / laneBox.width));
  const onPlot = e => e.target.closest('.plot') && e.clientX - box.getBoundingClientRect().left >= laneBox.left - 4;
  let start = null;
  // Fingers on the plots, by their numbers: one moves the window along, two hold the times under them.
  const fingers = new Map();
  let grip = null;
  const hold = () => { grip = [...fingers.values()].slice(0, 2).map(x => ({ x, t: timeAt(x) })); };
  const timeAt = x => view.from + (view.to - view.from) * (x - box.getBoundingClientRect().left - laneBox.left) / laneBox.width;
  const pull = () => {
    const at = [...fingers.values()], [a, b] = grip, left = box.getBoundingClientRect().left + laneBox.left;
    // Two fingers closer than this say nothing of a width.
    const apart = b ? Math.sign(at[1] - at[0] || 1) * Math.max(24, Math.abs(at[1] - at[0])) : 0;
    const per = b ? (b.t - a.t) / apart : (view.to - view.from) / laneBox.width;
    if (!(per > 0)) return;
    const first = a.t - (at[0] - left) * per;
    setView(first, first + per * laneBox.width);
  };
  const lift = e => {
    if (!fingers.delete(e.pointerId)) return;
    if (fingers.size) hold();
  };
  box.addEventListener('pointerdown', e => {
    if (e.button || !onPlot(e)) return;
    if (e.pointerType === 'touch') {
      fingers.set(e.pointerId, e.clientX);
      hold();
      // A tap sets the cursor; what moves, or is one of two, does not.
      start = fingers.size === 1 ? { x: e.clientX, t: time(e), touch: true } : null;
      return;
    }
    start = { x: e.clientX, t: time(e), pan: e.shiftKey, from: view.from, to: view.to };
    if (e.pointerType === 'mouse') e.preventDefault();
  });
  window.addEventListener('pointermove', e => {
    if (fingers.has(e.pointerId)) {
      fingers.set(e.pointerId, e.clientX);
      if (start && Math.abs(e.clientX - start.x) >= 8) { start = null; hold(); }
      if (!start) pull();
      return;
    }
    const x = e.clientX - box.getBoundingClientRect().left;
    ghost.style.display = !start && e.pointerType === 'mouse' && onPlot(e) ? 'block' : 'none';
    ghost.style.transform = `translateX(${x}px)`;
    if (!start || Math.abs(e.clientX - start.x) < 5) return;
    start.moved = true;
    if (start.pan) { const d = (start.x - e.clientX) / laneBox.width * (start.to - start.from); return setView(start.from + d, start.to + d); }
    const a = Math.min(start.x, e.clientX) - box.getBoundingClientRect().left;
    selection.style.display = 'block'; selection.style.left = `${Math.max(a, laneBox.left)}px`; selection.style.width = `${Math.abs(e.clientX - start.x)}px`;
  });
  window.addEventListener('pointerup', e => {
    lift(e);
    if (!start) return;
    const { t, moved, pan } = start;
    start = null; selection.style.display = 'none';
    if (!moved) return setCursor(time(e));
    if (!pan) { const other = time(e); if (Math.abs(other - t) > (view.to - view.from) / 200) setView(Math.min(t, other), Math.max(t, other)); }
  });
  window.addEventListener('pointercancel', e => { lift(e); start = null; selection.style.display = 'none'; });
  box.addEventListener('dblclick', e => { if (onPlot(e)) setView(from, to); });
  box.addEventListener('wheel', e => {
    if (!onPlot(e)) return;
    if (e.ctrlKey) { e.preventDefault(); zoom(Math.exp(e.deltaY / 200), time(e)); }
    else if (Math.abs(e.deltaX) > Math.abs(e.deltaY)) { e.preventDefault(); const d = e.deltaX / laneBox.width * (view.to - view.from); setView(view.from + d, view.to + d); }
  }, { passive: false });
}

function keys(e) {
  if (e.ctrlKey || e.metaKey || e.altKey) return;
  const it = e.target, own = it.closest && it.closest('button, a');
  // A field takes its own keys.
  if ((e.key === ' ' && own) || (it.closest && it.closest('select, input'))) return;
  const on = {
    ArrowLeft: () => setCursor(cursor - (e.shiftKey ? 10 : 1)), ArrowRight: () => setCursor(cursor + (e.shiftKey ? 10 : 1)),
    Home: () => setCursor(from), End: () => setCursor(to), ' ': () => screen.play(!screen.playing),
    '[': () => step(-1), ']': () => step(1), '+': () => zoom(0.5), '=': () => zoom(0.5), '-': () => zoom(2), 0: () => setView(from, to),
  }[e.key];
  if (!on) return;
  // The page scrolls with these where nothing else takes them.
  e.preventDefault(); e.stopPropagation();
  on();
  if (cursor < view.from || cursor > view.to) { const half = (view.to - view.from) / 2; setView(cursor - half, cursor + half); }
}

function theme(name) {
  document.documentElement.dataset.theme = name;
  for (const b of document.querySelectorAll('[data-theme][type]')) b.setAttribute('aria-pressed', String(b.dataset.theme === name));
  readColours();
  if (laneBox.left === undefined) return;
  for (const lane of lanes) lane.draw_soon();
  profile.draw(); track.draw(); compare.draw();
}

// Paper has its own width and no shades: what is drawn is drawn anew for it.
function paper(on) {
  const root = document.documentElement;
  if (on === !!laneBox.paper) return;
  if (on) paper.theme = root.dataset.theme;
  root.classList.toggle('printing', on);
  root.dataset.theme = on ? 'light' : paper.theme;
  laneBox.paper = on;
  readColours();
  for (const lane of lanes) {
    if (on) { lane.was = lane.visible; lane.visible = lane.row.offsetParent !== null; if (lane.visible) lane.make(); } else lane.visible = lane.was;
  }
  layout();
}

masthead();
summary();
eventList();
profile.make();
screen.make();
track.make();
valueTable();
makeLanes();
const worst = $('worst').querySelector('[data-moment]');
cursor = worst ? moments[Number(worst.dataset.moment)].at : Math.max(from, Math.min(to, film ? onto(film.fit, 0) : from));
theme('auto');
layout();
if (worst) choose(Number(worst.dataset.moment));
document.addEventListener('click', e => {
  const moment = e.target.closest('[data-at]');
  if (moment && moment.tagName === 'BUTTON') return setCursor(Number(moment.dataset.at));
  const it = e.target.closest('[data-moment]');
  if (!it) return;
  // A pin that stands for several leads to one after the other.
  const all = (it.dataset.all || it.dataset.moment).split(' ').map(Number);
  choose(all[(all.indexOf(chosen) + 1) % all.length]);
  // After a click of the mouse Space is for playing.
  if (e.detail && e.target.closest('button')) e.target.closest('button').blur();
});
for (const b of document.querySelectorAll('.theme button')) b.addEventListener('click', () => theme(b.dataset.theme));
$('before').addEventListener('click', () => step(-1));
$('after').addEventListener('click', () => step(1));
$('in').addEventListener('click', () => zoom(0.5));
$('out').addEventListener('click', () => zoom(2));
$('whole').addEventListener('click', () => setView(from, to));
$('thisevent').addEventListener('click', () => {
  const m = moments[chosen];
  if (!m) return;
  const width = Math.max(10, m.to - m.from);
  setView(m.from - width, m.to + width);
});
document.addEventListener('keydown', keys, true);
// A link to a moment: #t=SESSION SECONDS.
const linked = () => { const t = /^#t=(-?[0-9.]+)$/.exec(window.location.hash); if (t) setCursor(Number(t[1])); };
window.addEventListener('hashchange', linked);
linked();
let width = window.innerWidth;
window.addEventListener('resize', () => { if (window.innerWidth !== width && !document.documentElement.classList.contains('printing')) { width = window.innerWidth; layout(); } });
window.matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => theme(document.documentElement.dataset.theme));
window.addEventListener('beforeprint', () => paper(true));
window.addEventListener('afterprint', () => paper(false));
// What lies below the first screen is written once that stands.
setTimeout(() => { key(); compare.make(); figureTables(); clockTable(); qualityTable(); foot(); document.documentElement.dataset.ready = 'all'; }, 0);
// Type that arrives late has other widths.
document.fonts.ready.then(() => { layout(); });
document.documentElement.dataset.usable = Math.round(performance.now());
