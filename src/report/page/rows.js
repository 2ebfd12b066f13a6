// What jumps from state to state: recorded lamps, computed alerts, texts. A recorded lamp and a computed alert are two facts, and
// stand in two lists.
// Where there is no room beside them, names stand above their lanes.
const rowHeight = () => laneBox.stacked ? 44 : laneBox.paper ? 22 : 30;
// Spans of a list of turns within a window, in session time.
function* spans(turns, before, a, b) {
  let at = from, state = before;
  for (const [t, next] of turns) {
    if (t > a && at < b && t > at) yield [Math.max(at, a), Math.min(t, b), state];
    at = Math.max(t, from); state = next;
    if (at >= b) return;
  }
  const end = Math.min(b, to);
  if (end > at) yield [Math.max(at, a), end, state];
}

function lampRow(lamp) {
  const known = i => i >= 0 ? { grade: lamp.lamps[i][1], text: lamp.lamps[i][0] } : [null, { grade: 'unlit', text: 'unlit' }, { grade: 'disagree', text: 'DISAGREE' }, { grade: 'stale', text: 'stale' }, { grade: 'none', text: 'no data' }][-i];
  return { label: lamp.subject, spans: (a, b) => spans(lamp.turns, -4, a, b), known, at: t => known(turnAt(lamp.turns, t, -4)) };
}
function alertRow(alert, i) {
  const limit = told.limits[i];
  const known = s => [{ grade: 'unlit', text: 'off' }, { grade: 'waiting', text: 'waiting' }, { grade: limit.severity, text: limit.word || 'passed' }, { grade: 'unknown', text: 'unknown' }][s];
  return { label: upper(limit.name), spans: (a, b) => spans(alert.turns, 3, a, b), known, at: t => known(turnAt(alert.turns, t, 3)) };
}
function textRow(channel) {
  const turns = [];
  for (let i = 0; i < channel.values.length; i++) if (!i || channel.values[i] !== channel.values[i - 1]) turns.push([back(channel.fit || { pivot_s: 0, offset_at_pivot_s: 0, rate: 1 }, channel.times[i]), channel.values[i]]);
  const known = i => i < 0 ? { grade: 'none', text: 'no data' } : { grade: 'word', text: clean(channel.texts[i]) };
  return { label: channel.label, spans: (a, b) => spans(turns, -1, a, b), known, at: t => { const r = channel.at(t); return r.value === null ? { grade: r.state, text: STATES[r.state] } : { grade: 'word', text: clean(r.value) }; } };
}

class Rows {
  constructor(rows, box) {
    this.rows = rows;
    const tiles = el('div', 'tiles');
    this.now = rows.map(row => {
      const now = el('b', 'now');
      tiles.append(el('div', 'rowtile', { title: row.label }, el('span', 'name', row.label), now));
      return now;
    });
    this.canvas = el('canvas', '', { 'aria-hidden': 'true' });
    this.plot = el('div', 'plot', this.canvas);
    this.row = el('div', 'lane rows', tiles, this.plot);
    box.append(this.row);
  }
  make() { this.made = true; }
  height() { return this.rows.length * rowHeight() + 6; }
  draw_soon() {
    if (!this.made || !this.visible) { this.dirty = true; return; }
    this.dirty = false;
    const [, c] = canvasOf(laneBox.plot, this.height(), this.canvas), left = laneBox.axis, width = laneBox.plot - laneBox.axis - laneBox.right;
    const x = t => left + width * (t - view.from) / (view.to - view.from);
    c.fillStyle = ink.plot; c.fillRect(left, 3, width, this.height() - 6);
    c.save(); c.beginPath(); c.rect(left, 0, width, this.height()); c.clip();
    told.phases.forEach((p, i) => { if (i % 2) { c.fillStyle = ink.ground; c.fillRect(x(p.from_s), 3, x(p.to_s) - x(p.from_s), this.height() - 6); } });
    c.textBaseline = 'middle'; c.textAlign = 'left';
    this.rows.forEach((row, n) => {
      const middle = 3 + (n + 1) * rowHeight() - (laneBox.paper ? 11 : 15);
      if (laneBox.stacked) { c.font = '12px B612'; c.fillStyle = ink.ink2; c.fillText(row.label, left + 2, middle - 20); }
      // Spans too short to be seen apart are one mark.
      let reached = -Infinity;
      for (const [a, b, state] of row.spans(view.from, view.to)) {
        const { grade, text } = row.known(state), l = x(a), w = x(b) - l;
        const filled = ['warning', 'caution', 'advisory', 'in_transit', 'disagree', 'unknown'].includes(grade), r = l + Math.max(w, filled ? 2 : 0);
        if (r <= reached + 0.3) continue;
        reached = r;
        this.span(c, grade, l, middle, r - l, text);
      }
    });
    c.restore();
  }
  span(c, grade, l, y, w, text) {
    const h = laneBox.paper ? 15 : 18, top = y - h / 2, label = (colour, bold) => { c.font = `${bold ? 'bold ' : ''}11px B612`; const seen = Math.max(l, laneBox.axis) + 9; if (c.measureText(text).width + 18 < l + w - seen + 9) { c.fillStyle = colour; c.fillText(text, seen, y + .5); } };
    const path = cut => { const d = Math.min(cut, w / 2); c.beginPath(); c.moveTo(l + d, top); c.lineTo(l + w - d, top); c.lineTo(l + w, grade === 'caution' ? y : top + d); if (grade !== 'caution') c.lineTo(l + w, top + h - d); c.lineTo(l + w - d, top + h); c.lineTo(l + d, top + h); c.lineTo(l, grade === 'caution' ? y : top + h - d); if (grade !== 'caution') c.lineTo(l, top + d); c.closePath(); };
    if (grade === 'warning') { path(5); c.fillStyle = ink.warning; c.fill(); label('#fff', true); }
    else if (grade === 'caution') { path(6); c.fillStyle = ink.caution; c.fill(); c.strokeStyle = '#1a1205'; c.lineWidth = 1; c.stroke(); label('#1a1205', true); }
    else if (grade === 'in_transit') { path(2); c.strokeStyle = ink.amberline; c.lineWidth = 1.6; c.stroke(); label(ink.ink, true); }
    else if (grade === 'advisory') { c.beginPath(); c.roundRect(l + .8, top, Math.max(1, w - 1.6), h, 9); c.fillStyle = ink.card; c.fill(); c.strokeStyle = ink.cyan; c.lineWidth = 1.6; c.stroke(); label(ink.ink, true); }
    else if (grade === 'unknown' || grade === 'disagree' || grade === 'stale') { c.setLineDash([4, 3]); c.strokeStyle = ink.ink2; c.lineWidth = 1.2; c.strokeRect(l + .5, top + .5, Math.max(1, w - 1), h - 1); c.setLineDash([]); label(ink.ink2, grade === 'disagree'); }
    else if (grade === 'normal') { c.fillStyle = ink.green; c.fillRect(l, y + 5.5, w, 3); label(ink.ink, true, c); }
    else if (grade === 'word') { c.strokeStyle = ink.line; c.lineWidth = 1; c.beginPath(); c.moveTo(l + .5, top); c.lineTo(l + .5, top + h); c.stroke(); label(ink.ink, false); }
    else if (grade === 'none') { c.fillStyle = ink.gap; c.fillRect(l, top, w, h); label(ink.ink2, false); }
    else { c.fillStyle = grade === 'waiting' ? ink.hand2 : ink.line; c.fillRect(l, y - .5, w, 1); }
  }
  move() {
    this.rows.forEach((row, i) => {
      const { grade, text } = row.at(cursor), now = this.now[i];
      if (now.textContent !== text || now.dataset.grade !== grade) { now.textContent = text; now.dataset.grade = grade; }
    });
  }
}
