// The channels over time, each in its lane. A plot is a dial unrolled: the owner's marks stand beside it, with the same folds.

// What a channel consists of between two session times: runs of records, and what its last value becomes in gaps.
function* pieces(c, a, b) {
  if (!c.fit || !c.times.length) { yield ['none', a, b]; return; }
  const n = c.times.length, la = onto(c.fit, a), lb = onto(c.fit, b), s = t => back(c.fit, t);
  if (la < c.times[0]) yield ['none', a, Math.min(b, s(c.times[0]))];
  const first = Math.max(0, c.recordAt(la)), last = Math.min(n - 1, c.recordAt(lb) + 1);
  let k = 0, high = c.breaks.length;
  while (k < high) { const m = (k + high) >> 1; if (c.breaks[m] < first) k = m + 1; else high = m; }
  const gap = function* (i, end) {
    const t = c.times[i], held = Math.min(end, t + c.held), stale = Math.min(end, t + c.stale);
    yield ['held', s(t), s(held), c.values[i]];
    if (stale > held) yield ['stale', s(held), s(stale), c.values[i], end - t];
    if (end > stale) yield ['none', s(stale), s(end)];
  };
  let start = first;
  for (; k < c.breaks.length && c.breaks[k] <= last; k++) {
    const i = c.breaks[k];
    if (i >= start) yield ['run', start, i];
    yield* gap(i, c.times[i + 1]);
    start = i + 1;
  }
  if (start <= last) yield ['run', start, last];
  if (last === n - 1 && lb > c.times[n - 1]) yield* gap(n - 1, lb);
}

// A run of records as a path. Where several fall on one column of pixels the first, the least, the greatest and the last are
// drawn, so that no peak is lost.
function runPath(context, c, i, j, map) {
  const { times, values, fit, kind } = c, x = t => map.x(back(fit, t));
  const a = x(times[i]), span = x(times[j]) - a, dense = j - i + 1 > 3 * Math.max(1, span * (map.ratio || 1)), column = 1 / (map.ratio || 1);
  const stepped = kind === 'discrete';
  let y = map.y(values[i]);
  if (i === j) { context.moveTo(a - 1, y); context.lineTo(a + 1, y); return; }
  context.moveTo(a, y);
  if (!dense) {
    for (let n = i + 1; n <= j; n++) {
      const at = x(times[n]), next = map.y(values[n]);
      if (kind === 'angle' && Math.abs(values[n] - values[n - 1]) > 180) context.moveTo(at, next);
      else { if (stepped) context.lineTo(at, y); context.lineTo(at, next); }
      y = next;
    }
    return;
  }
  let at = a, least = values[i], greatest = values[i], rising = true, lastValue = values[i];
  const flush = () => {
    const [one, other] = rising ? [least, greatest] : [greatest, least];
    context.lineTo(at, map.y(one)); context.lineTo(at, map.y(other)); context.lineTo(at, map.y(lastValue));
  };
  const scale = (map.x(map.to) - map.x(map.from)) / (map.to - map.from) / fit.rate, zero = a - scale * times[i];
  let edge = a + column;
  for (let n = i + 1; n <= j; n++) {
    const here = zero + scale * times[n], v = values[n];
    if (here >= edge) {
      flush();
      at = here; edge = here + column; least = greatest = v; rising = true;
      if (kind === 'angle' && Math.abs(v - lastValue) > 180) context.moveTo(at, map.y(v)); else context.lineTo(at, map.y(v));
    } else if (v < least) { least = v; rising = false; } else if (v > greatest) { greatest = v; rising = true; }
    lastValue = v;
  }
  flush();
}

// Value to height, 0 at the foot and 1 at the top of a lane: the owner's dial where there is one, wide enough for the records.
function makeScale(c, others) {
  const all = [c, ...others], low = Math.min(...all.map(c => c.low)), high = Math.max(...all.map(c => c.high));
  const points = c.scale;
  if (points.length > 1) {
    const rising = points[0][0] < points[points.length - 1][0], p = rising ? points : [...points].reverse();
    const place = v => {
      let n = 1;
      while (n < p.length - 1 && v > p[n][0]) n++;
      const [[v0, y0], [v1, y1]] = [p[n - 1], p[n]];
      return y0 + (y1 - y0) * (v - v0) / (v1 - v0);
    };
    // A few wild numbers may not make all others flat.
    const floor = Math.max(-0.8, Math.min(0, place(Math.max(low, -1e12)))), ceiling = Math.min(1.8, Math.max(1, place(Math.min(high, 1e12))));
    if (Number.isFinite(floor) && Number.isFinite(ceiling)) {
      const y = v => (place(v) - floor) / (ceiling - floor);
      return { y, ticks: c.numerals.filter(v => y(v) >= -0.001 && y(v) <= 1.001), folds: p.slice(1, -1).filter((q, i) => { const step = n => (p[n + 1][1] - p[n][1]) / (p[n + 1][0] - p[n][0]); return Math.abs(step(i) / step(i + 1) - 1) > 0.01; }).map(q => q[0]), decimals: null };
    }
  }
  const limits = told.limits.filter(l => channelOf(l.channel) === c).map(l => l.below ?? l.above);
  let a = low, b = high;
  if (!(a <= b)) [a, b] = [0, 1];
  const reach = b - a || Math.abs(a) * 0.1 || 1;
  for (const v of limits) if (v > a - reach && v < b + reach) { a = Math.min(a, v); b = Math.max(b, v); }
  if (c.kind === 'angle') [a, b] = [0, 360];
  if (a >= 0 && a < 0.6 * b) a = 0;
  const pad = c.kind === 'angle' ? 0 : 0.06 * (b - a || reach);
  const [ticks, d] = c.kind === 'angle' ? [[0, 90, 180, 270, 360], 0] : roundTicks(a - (a === 0 ? 0 : pad), b + pad, 3);
  const lowest = a === 0 ? -0.02 * (b - a) : a - pad;
  return { y: v => (v - lowest) / (b + pad - lowest), ticks, folds: [], decimals: d };
}

// Stripes, so that severity shows without colour: level for a warning, slanted for a caution.
function patterns(context) {
  if (ink.patterns) return ink.patterns;
  const make = (size, ground, stripes) => {
    const tile = document.createElement('canvas');
    tile.width = tile.height = size;
    const c = tile.getContext('2d');
    c.fillStyle = ground; c.fillRect(0, 0, size, size);
    stripes(c, size);
    return context.createPattern(tile, 'repeat');
  };
  const k = Math.max(1, Math.round(window.devicePixelRatio || 1));
  return ink.patterns = {
    warning: make(5 * k, ink.redfill, (c, s) => { c.fillStyle = ink.red; c.fillRect(0, 0, s, 1.3 * k); }),
    caution: make(6 * k, ink.amberfill, (c, s) => { c.strokeStyle = ink.amber; c.lineWidth = 1.5 * k; for (const d of [-s, 0, s]) { c.beginPath(); c.moveTo(d - 1, s + 1); c.lineTo(d + s + 1, -1); c.stroke(); } }),
    advisory: make(6 * k, ink.cyanfill, () => {}),
  };
}

const view = { from, to };
const lanes = [];
class Lane {
  constructor(list, box) {
    this.channels = list;
    this.main = list[0];
    this.tall = list.length > 1;
    this.tile = el('div', 'tile');
    this.readouts = list.map((c, i) => {
      const value = el('b', 'value'), state = el('span', 'state');
      const name = el('span', 'name', list.length > 1 ? el('i', i ? 'swatch second' : 'swatch') : null, c.label, c.unit ? el('span', 'unit', ` ${c.unit}`) : null);
      this.tile.append(el('div', 'readout', { title: c.name }, name, el('span', 'line', value, state)));
      return { value, state };
    });
    this.plot = el('div', 'plot');
    this.dots = list.map((c, i) => el('i', i ? 'dot second' : 'dot'));
    this.row = el('div', `lane${this.tall ? ' tall' : ''}`, this.tile, this.plot, ...this.dots);
    box.append(this.row);
    this.exceeded = told.exceedances.map((e, i) => [e, i]).filter(([e]) => list.includes(channelOf(e.channel)));
  }

  get scale() { return once(this, 'scale', makeScale(this.main, this.channels.slice(1))); }
  height() { return laneBox.paper ? (this.tall ? 104 : 58) : this.tall ? 168 : this.main.kind === 'discrete' ? 64 : 92; }

  make() {
    if (this.plotted) return;
    const lane = this;
    const opts = {
      width: laneBox.plot, height: this.height(), padding: [8, laneBox.right, 8, 0], legend: { show: false }, cursor: { show: false }, select: { show: false },
      scales: { x: { time: false, range: () => [view.from, view.to] }, y: { range: () => [0, 1] } },
      axes: [
        { size: 0, splits: () => laneBox.times, values: () => [], ticks: { show: false }, grid: { stroke: () => ink.hair, width: 1 } },
        { size: () => laneBox.axis, gap: 14, font: '11px B612', stroke: () => ink.ink2, ticks: { show: false }, grid: { stroke: () => ink.hair, width: 1 }, splits: () => lane.splits().map(v => lane.scale.y(v)), values: () => lane.splits().map(v => number(v, lane.decimals(v))) },
      ],
      series: [{}, { paths: () => null, points: { show: false } }],
      hooks: { drawClear: [u => lane.before(u)], draw: [u => lane.draw(u)] },
    };
    this.plotted = new uPlot(opts, [[view.from, view.to], [null, null]], this.plot);
    this.plotted.root.setAttribute('aria-hidden', 'true');
    this.dirty = false;
  }

  // Values with a numeral that do not fall on one another.
  splits() {
    const height = this.height() - 16, out = [];
    for (const v of [...this.scale.ticks].sort((a, b) => this.scale.y(a) - this.scale.y(b))) {
      if (!out.length || (this.scale.y(v) - this.scale.y(out[out.length - 1])) * height >= 15) out.push(v);
    }
    return out;
  }
  decimals(v) { return this.scale.decimals ?? (Number.isInteger(v) ? 0 : Math.max(1, this.main.decimals)); }

  draw_soon() {
    if (!this.plotted || !this.visible) { this.dirty = true; return; }
    this.dirty = false;
    if (this.plotted.width !== laneBox.plot || this.plotted.height !== this.height()) this.plotted.setSize({ width: laneBox.plot, height: this.height() });
    this.plotted.setScale('x', { min: view.from, max: view.to });
    if (this.theme !== ink.page) { this.theme = ink.page; this.plotted.redraw(false, true); }
  }

  map(u) {
    const { left, top, width, height } = u.bbox;
    return {
      left, top, width, height, ratio: 1, from: view.from, to: view.to,
      x: t => left + width * (t - view.from) / (view.to - view.from),
      y: v => top + height * (1 - Math.min(1, Math.max(0, this.scale.y(v)))),
    };
  }

  before(u) {
    const c = u.ctx, m = this.map(u);
    c.fillStyle = ink.plot; c.fillRect(m.left, m.top, m.width, m.height);
    c.save(); c.beginPath(); c.rect(m.left, m.top, m.width, m.height); c.clip();
    told.phases.forEach((p, i) => {
      if (i % 2 === 0 || p.to_s < view.from || p.from_s > view.to) return;
      c.fillStyle = ink.ground; c.fillRect(m.x(p.from_s), m.top, m.x(p.to_s) - m.x(p.from_s), m.height);
    });
    c.restore();
  }

  draw(u) {
    const c = u.ctx, m = this.map(u), k = u.pxRatio || window.devicePixelRatio || 1;
    c.save();
    this.marks(c, m, k);
    c.beginPath(); c.rect(m.left, m.top - 6 * k, m.width, m.height + 12 * k); c.clip();
    this.gaps(c, m, k);
    this.fills(c, m, k);
    // The second trace first, so that the first stays whole.
    for (let i = this.channels.length - 1; i >= 0; i--) this.trace(c, m, k, this.channels[i], i);
    this.peaks(c, m, k);
    c.restore();
  }

  // The owner's marks in a lane beside the plot, limits as hairs across it.
  marks(c, m, k) {
    const x = m.left - 7 * k, top = m.top, foot = m.top + m.height;
    const y = v => Math.min(foot, Math.max(top, m.y(v)));
    this.main.marks.forEach(mark => {
      const a = y(mark.from), b = y(mark.to), [high, low] = [Math.min(a, b), Math.max(a, b)];
      if (mark.from !== mark.to && low - high < 0.5) return;
      if (mark.kind === 'normal') {
        c.fillStyle = ink.green;
        if (mark.off) { c.fillRect(x - 1.6 * k, high, 1 * k, low - high); c.fillRect(x + 0.6 * k, high, 1 * k, low - high); }
        else c.fillRect(x - 1.5 * k, high, 3 * k, low - high);
      } else if (mark.kind === 'precaution') {
        const count = Math.max(1, Math.round((low - high + 2 * k) / (7 * k))), pitch = (low - high + 2 * k) / count;
        for (let n = 0; n < count; n++) {
          c.fillStyle = c.strokeStyle = ink.amberline; c.lineWidth = k;
          const args = [x - 2.6 * k, high + n * pitch, 5.2 * k, Math.max(1, pitch - 2 * k)];
          if (mark.off) c.strokeRect(...args); else c.fillRect(...args);
        }
      } else if (mark.kind === 'limit') {
        c.strokeStyle = ink.red; c.lineWidth = (mark.off ? 1 : 2) * k;
        c.beginPath(); c.moveTo(x - 4 * k, a - 4 * k); c.lineTo(x - 4 * k, a + 4 * k); c.moveTo(x - 4 * k, a); c.lineTo(m.left + 7 * k, a); c.stroke();
      } else if (mark.kind === 'forbidden') {
        c.fillStyle = ink.red;
        c.fillRect(x - 4 * k, high, 1.6 * k, low - high);
        for (let t = high; t < low - 2 * k; t += 5 * k) { c.beginPath(); c.moveTo(x - 4 * k, t); c.lineTo(x + 3 * k, t + 2 * k); c.lineTo(x - 4 * k, t + 4 * k); c.fill(); }
      } else { c.fillStyle = ink.ink; c.beginPath(); c.moveTo(m.left, a); c.lineTo(m.left - 7 * k, a - 4 * k); c.lineTo(m.left - 7 * k, a + 4 * k); c.fill(); }
    });
    for (const v of this.scale.folds) {
      c.strokeStyle = ink.ink2; c.fillStyle = ink.card; c.lineWidth = 1.2 * k;
      c.beginPath(); c.arc(x, y(v), 3 * k, 0, 7); c.fill(); c.stroke();
    }
    told.limits.forEach(l => {
      const of = channelOf(l.channel), v = l.below ?? l.above, place = this.scale.y(v);
      if (!this.channels.includes(of) || place < 0 || place > 1) return;
      const warning = l.severity === 'warning';
      c.strokeStyle = warning ? ink.red : l.severity === 'caution' ? ink.amberline : ink.cyan;
      // Far from any record a limit is only named at the edge: a calm lane shows what came near.
      const near = Math.abs((l.below !== null ? this.scale.y(of.low) - place : this.scale.y(of.high) - place)) < 0.25 || (l.below !== null ? of.low < v : of.high > v);
      c.globalAlpha = 0.6; c.lineWidth = k; c.setLineDash(warning ? [] : [7 * k, 4 * k]);
      c.beginPath(); c.moveTo(m.left, m.y(v)); c.lineTo(near ? m.left + m.width : m.left + 26 * k, m.y(v)); c.stroke();
      c.setLineDash([]); c.globalAlpha = 1;
    });
  }

  gaps(c, m, k) {
    for (const channel of this.channels) for (const piece of pieces(channel, view.from, view.to)) {
      if (piece[0] !== 'none') continue;
      const a = m.x(piece[1]), b = m.x(piece[2]);
      if (b - a < 0.75 * k) continue;
      c.fillStyle = ink.gap; c.fillRect(a, m.top, b - a, m.height);
      c.fillStyle = ink.ink2;
      for (let x = a + 2 * k; x < b - k; x += 3 * k) c.fillRect(x, m.top + m.height - 7 * k, k * .7, 7 * k);
      if (b - a > 54 * k) { c.font = `${11 * k}px B612`; c.textAlign = 'center'; c.textBaseline = 'middle'; c.fillText('no data', (a + b) / 2, m.top + m.height / 2); }
    }
    // Where a limit on one of these channels could not be judged.
    for (const n of told.not_judged) {
      const limit = limitOf(n.limit);
      if (!limit || !this.channels.includes(channelOf(limit.channel)) || n.to_s < view.from || n.from_s > view.to) continue;
      const a = m.x(n.from_s), b = m.x(n.to_s);
      c.strokeStyle = ink.ink2; c.lineWidth = k; c.setLineDash([4 * k, 3 * k]); c.strokeRect(a, m.top + k, Math.max(2 * k, b - a), m.height - 2 * k); c.setLineDash([]);
    }
  }

  fills(c, m, k) {
    for (const [e] of this.exceeded) {
      if (e.to_s < view.from || e.from_s > view.to) continue;
      const channel = channelOf(e.channel), limit = m.y(e.limit_value), up = e.peak > e.limit_value;
      const first = channel.recordAt(onto(channel.fit, Math.max(e.from_s, view.from))), last = channel.recordAt(onto(channel.fit, Math.min(e.to_s, view.to)) + 1e-9);
      const start = m.x(Math.max(e.from_s, view.from)), end = m.x(Math.min(e.to_s, view.to));
      c.beginPath(); c.moveTo(start, limit);
      let at = -Infinity, extreme = null;
      for (let n = Math.max(0, first); n <= last; n++) {
        const x = Math.min(end, Math.max(start, m.x(back(channel.fit, channel.times[n])))), v = channel.values[n];
        const beyond = up ? Math.max(v, e.limit_value) : Math.min(v, e.limit_value);
        if (x - at >= 1 || extreme === null) { if (extreme !== null) c.lineTo(at, m.y(extreme)); at = x; extreme = beyond; }
        else extreme = up ? Math.max(extreme, beyond) : Math.min(extreme, beyond);
      }
      if (extreme !== null) c.lineTo(at, m.y(extreme));
      c.lineTo(end, limit); c.closePath();
      c.fillStyle = patterns(c)[e.severity] || patterns(c).advisory; c.fill();
      c.fillStyle = e.severity === 'warning' ? ink.warning : e.severity === 'caution' ? ink.caution : ink.cyan;
      c.fillRect(start, m.top - 4 * k, Math.max(3 * k, end - start), 4 * k);
    }
  }

  trace(c, m, k, channel, place) {
    const colour = place ? ink.hand2 : ink.ink;
    c.lineJoin = 'round';
    const parts = [...pieces(channel, view.from, view.to)];
    const strokes = channel.derived ? [[3.4, colour], [1.1, ink.plot]] : [[place ? 1.8 : 1.7, colour]];
    for (const [width, stroke] of strokes) {
      c.strokeStyle = stroke; c.lineWidth = width * k; c.beginPath();
      for (const p of parts) if (p[0] === 'run') runPath(c, channel, p[1], p[2], m);
      c.stroke();
    }
    for (const p of parts) {
      if (p[0] !== 'held' && p[0] !== 'stale') continue;
      const a = m.x(p[1]), b = m.x(p[2]), y = m.y(p[3]);
      if (b - a < k) continue;
      c.strokeStyle = colour; c.beginPath(); c.moveTo(a, y); c.lineTo(b, y);
      if (p[0] === 'held') { c.lineWidth = 6 * k; c.setLineDash([1.6 * k, 2.4 * k]); c.stroke(); }
      else {
        c.setLineDash([5 * k, 3.4 * k]); c.lineWidth = 4 * k; c.stroke(); c.strokeStyle = ink.plot; c.lineWidth = 1.6 * k; c.stroke();
        if (b - a > 60 * k) { c.font = `${11 * k}px B612`; c.fillStyle = ink.ink2; c.textAlign = 'left'; c.textBaseline = 'bottom'; c.fillText(`stale ${lasted(p[4])}`, a + 3 * k, y - 4 * k); }
      }
      c.setLineDash([]);
    }
    // Beyond the lane's end a triangle says so.
    if (this.scale.y(channel.high) > 1.001 || this.scale.y(channel.low) < -0.001) this.beyond(c, m, k, channel, colour);
  }

  beyond(c, m, k, channel, colour) {
    let reached = -Infinity;
    for (const p of pieces(channel, view.from, view.to)) if (p[0] === 'run') for (let n = p[1]; n <= p[2]; n++) {
      const y = this.scale.y(channel.values[n]), x = m.x(back(channel.fit, channel.times[n]));
      if ((y <= 1.001 && y >= -0.001) || x < reached) continue;
      reached = x + 40 * k;
      const edge = y > 1 ? m.top : m.top + m.height, way = y > 1 ? 1 : -1;
      c.fillStyle = colour; c.beginPath(); c.moveTo(x, edge - 4 * k * way); c.lineTo(x - 5 * k, edge + 4 * k * way); c.lineTo(x + 5 * k, edge + 4 * k * way); c.fill();
    }
  }

  // Severity's shape at the peak, with its value.
  peaks(c, m, k) {
    let reached = -Infinity;
    for (const [e] of this.exceeded) {
      if (e.peak_s < view.from || e.peak_s > view.to) continue;
      const x = m.x(e.peak_s), y = m.y(e.peak), r = 5.5 * k, text = `${number(e.peak, channelOf(e.channel).decimals)} ${e.unit}`;
      c.beginPath();
      if (e.severity === 'warning') for (let n = 0; n < 8; n++) c.lineTo(x + r * Math.cos((n + .5) * Math.PI / 4), y + r * Math.sin((n + .5) * Math.PI / 4));
      else if (e.severity === 'caution') for (const [a, b] of [[-1.3, 0], [-.6, -.9], [.6, -.9], [1.3, 0], [.6, .9], [-.6, .9]]) c.lineTo(x + r * a, y + r * b);
      else c.arc(x, y, r * .8, 0, 7);
      c.closePath();
      c.fillStyle = e.severity === 'warning' ? ink.warning : e.severity === 'caution' ? ink.caution : ink.plot; c.fill();
      c.strokeStyle = e.severity === 'warning' ? '#fff' : e.severity === 'caution' ? '#1a1205' : ink.cyan; c.lineWidth = 1.2 * k; c.stroke();
      c.font = `bold ${11 * k}px B612`;
      const width = c.measureText(text).width, right = x + r + 5 * k + width < m.left + m.width, a = right ? x + r + 4 * k : x - r - 4 * k - width;
      if (a < reached) continue;
      reached = a + width + 6 * k;
      c.textAlign = 'left'; c.textBaseline = 'middle'; c.lineWidth = 3.5 * k; c.strokeStyle = ink.plot;
      const line = Math.min(m.top + m.height - 7 * k, Math.max(m.top + 7 * k, y));
      c.strokeText(text, a, line); c.fillStyle = ink.ink; c.fillText(text, a, line);
    }
  }

  move(x, inside) {
    this.channels.forEach((channel, i) => {
      const r = channel.at(cursor), { value, state } = this.readouts[i], dot = this.dots[i];
      const text = readingText(channel, r);
      if (value.textContent !== text) { value.textContent = text; value.className = r.value === null ? 'value empty' : 'value'; }
      const word = r.state === 'measured' ? '' : r.state === 'stale' ? `stale ${lasted(r.age)}` : STATES[r.state];
      if (state.textContent !== word) { state.textContent = word; state.className = `state ${r.state}`; }
      const shown = inside && r.value !== null;
      dot.style.display = shown ? '' : 'none';
      if (shown) dot.style.transform = `translate(${x}px, ${laneBox.stacked ? this.plot.offsetTop + this.y(r.value) : this.y(r.value)}px)`;
    });
  }
  y(v) { return 8 + (this.height() - 16) * (1 - Math.min(1, Math.max(0, this.scale.y(v)))); }
}
const readingText = (c, r) => r.value === null ? '\u2013' : c.texts ? clean(r.value) : number(r.value, c.decimals);

// Where plots begin and end, the same in every lane.
const laneBox = { tile: 128, axis: 60, right: 18, plot: 600, times: [] };
