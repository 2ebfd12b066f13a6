// The flight as a map: its height, its phases and what happened, on one line that is also a slider.
const ink = {};
function readColours() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ['page', 'card', 'plot', 'ink', 'ink2', 'line', 'hair', 'hand2', 'gap', 'ground', 'green', 'amber', 'amberline', 'red', 'cyan', 'warning', 'caution', 'row', 'redfill', 'amberfill', 'cyanfill']) ink[name] = style.getPropertyValue(`--${name}`).trim();
  ink.patterns = null;
}
function canvasOf(width, height, canvas = document.createElement('canvas')) {
  const k = Math.max(1, window.devicePixelRatio || 1);
  canvas.width = Math.round(width * k);
  canvas.height = Math.round(height * k);
  canvas.style.width = `${width}px`;
  canvas.style.height = `${height}px`;
  const context = canvas.getContext('2d');
  context.setTransform(k, 0, 0, k, 0, 0);
  return [canvas, context];
}
const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400];
const minutesText = n => n < 60 ? `${n} min` : n % 60 ? `${Math.floor(n / 60)} h ${two(n % 60)}` : `${n / 60} h`;
// Times that carry a label, so far apart that the labels do not touch.
function ruler(a, b, width, apart = 76) {
  const step = STEPS.find(s => s / (b - a) * width >= apart) || STEPS[STEPS.length - 1], out = [];
  for (let n = Math.ceil(a / step - 1e-9); n * step <= b + 1e-9; n++) {
    const t = n * step;
    const plain = step >= 60 ? minutesText(Math.round(t / 60)) : b - a < 300 && Math.abs(t) < 600 && step >= 1 ? `${Math.round(t)} s` : clockText(t, step < 1 ? 1 : 0);
    out.push([t, plain.replace('-', MINUS)]);
  }
  return out;
}
const HEIGHT = drawn.height === null ? null : channels[drawn.height];
// Round values between two, about so many.
function roundTicks(low, high, about) {
  const raw = (high - low) / about || 1, power = 10 ** Math.floor(Math.log10(raw)), step = [1, 2, 2.5, 5, 10].map(m => m * power).find(s => s >= raw * 0.999), out = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + step * 1e-9; n++) out.push(n * step);
  return [out, Math.max(0, -Math.floor(Math.log10(step) + 1e-9))];
}

// What begins within a second is one moment told by several witnesses: a limit passed, its event, its lamp.
const SAME_S = 1;
const momentsApart = list => {
  const apart = [];
  for (const m of list) {
    const last = apart[apart.length - 1];
    if (last && m.from - last[0].from <= SAME_S) last.push(m); else apart.push([m]);
  }
  return apart;
};
// Pins in rows: a moment is one pin; as many as fit beside one another, and beyond the last row one that stands for several moments.
function pinRows(list, x, width, rows) {
  const ends = Array(rows).fill(-Infinity), pins = [];
  for (const all of momentsApart(list)) {
    const m = all[0], at = x(Math.min(to, Math.max(from, m.from))), row = ends.findIndex(end => at - width / 2 >= end + 2);
    if (row >= 0) { ends[row] = at + width / 2; pins.push({ x: at, row, all }); continue; }
    const near = pins.reduce((best, pin) => Math.abs(pin.x - at) < Math.abs(best.x - at) ? pin : best);
    near.all.push(...all);
  }
  return pins;
}
function pinButton(pin, className) {
  const worst = pin.all.reduce((a, b) => (RANK[b.severity] ?? 3) < (RANK[a.severity] ?? 3) ? b : a);
  const many = pin.all.length > 1, ordered = [worst, ...pin.all.filter(m => m !== worst)];
  const at = `at ${whenText(worst.from)}`;
  const label = many ? `${pin.all.length} events ${at}: ${pin.all.map(m => `${m.no} ${m.name}`).join(', ')}. Again for the next of them` : `Event ${worst.no}: ${worst.name}, ${at}`;
  return el('button', className, { type: 'button', 'data-moment': moments.indexOf(worst), 'data-all': ordered.map(m => moments.indexOf(m)).join(' '), title: label, 'aria-label': label },
    plate(worst.severity, '', worst.no, 'tiny'), many ? el('i', 'count', pin.all.length) : null);
}

const profile = {
  make() {
    this.box = $('profile');
    if (!HEIGHT) this.box.before(none(whyEmpty('height')));
    this.behind = el('canvas', 'behind', { 'aria-hidden': 'true' });
    this.ahead = el('canvas', 'ahead', { 'aria-hidden': 'true' });
    this.hand = el('div', 'hand');
    this.dot = el('div', 'dot');
    this.pins = el('div', 'pins');
    this.window = el('div', 'window');
    this.slider = el('div', 'slider', { role: 'slider', tabindex: '0', 'aria-labelledby': 'profile-name', 'aria-valuemin': '0', 'aria-valuemax': String(Math.round(to - from)) }, this.ahead, this.behind, this.window, this.hand, this.dot);
    this.box.append(this.pins, this.slider);
    const drag = e => setCursor(from + (to - from) * Math.min(1, Math.max(0, (e.clientX - this.slider.getBoundingClientRect().left - this.left) / this.width)));
    this.slider.addEventListener('pointerdown', e => { if (e.button) return; this.slider.setPointerCapture(e.pointerId); this.held = true; drag(e); });
    this.slider.addEventListener('pointermove', e => { if (this.held) drag(e); });
    for (const done of ['pointerup', 'pointercancel']) this.slider.addEventListener(done, () => { this.held = false; });
  },
  x(t) { return this.left + this.width * (t - from) / (to - from || 1); },
  draw() {
    const all = this.box.clientWidth, small = all < 620;
    this.left = 2; this.width = all - this.left - (HEIGHT ? (small ? 46 : 66) : 4);
    this.top = 10; this.foot = small ? 118 : 150; this.height = this.foot + (small ? 48 : 66);
    this.low = 0; this.high = 1;
    if (HEIGHT && HEIGHT.low <= HEIGHT.high) {
      const reach = Math.max(HEIGHT.high - HEIGHT.low, 50);
      this.low = HEIGHT.low - 0.04 * reach; this.high = HEIGHT.low + 1.05 * reach;
    }
    this.slider.style.setProperty('--depth', `${this.foot}px`);
    const [, behind] = canvasOf(all, this.height, this.behind), [, ahead] = canvasOf(all, this.height, this.ahead);
    this.ground(ahead, small);
    this.line(ahead, true); this.line(behind, false);
    this.pins.replaceChildren();
    const list = pinRows(moments.filter(m => m.what !== 'event' || m.severity), t => this.x(t), 26, 3), rows = Math.max(1, ...list.map(p => p.row + 1));
    this.pins.style.height = `${rows * 25 + 4}px`;
    for (const pin of list) {
      const button = pinButton(pin, 'pin');
      button.style.left = `${Math.min(Math.max(pin.x, 13), all - 13)}px`; button.style.bottom = `${pin.row * 25 + 4}px`;
      const stem = el('i', 'stem'); stem.style.left = `${pin.x}px`; stem.style.height = `${pin.row * 25 + 6}px`;
      this.pins.append(stem, button);
    }
    this.move();
  },
  y(v) { return this.foot - (this.foot - this.top) * (v - this.low) / (this.high - this.low); },
  ground(c, small) {
    const { left, width, top, foot } = this;
    c.fillStyle = ink.plot; c.fillRect(left, top, width, foot - top);
    told.phases.forEach((p, i) => { if (i % 2) { c.fillStyle = ink.ground; c.fillRect(this.x(p.from_s), top, this.x(p.to_s) - this.x(p.from_s), foot - top); } });
    // What could not be judged, and what was passed, under the line.
    for (const m of moments) {
      const a = this.x(m.from), b = Math.max(this.x(m.to), a + 2);
      if (m.what === 'gap') { c.strokeStyle = ink.ink2; c.lineWidth = 1; c.setLineDash([3, 3]); c.strokeRect(a + .5, top + .5, Math.max(1, b - a - 1), foot - top - 1); c.setLineDash([]); }
      if (m.what === 'exceedance') { c.fillStyle = m.severity === 'warning' ? ink.warning : m.severity === 'caution' ? ink.caution : ink.cyan; c.fillRect(a, top, Math.max(3, b - a), 4); }
    }
    c.textBaseline = 'middle'; c.font = '11px B612';
    if (HEIGHT) {
      const [ticks, d] = roundTicks(this.low, this.high, 4);
      c.textAlign = 'left';
      for (const v of ticks) {
        const y = this.y(v);
        if (y < top + 4 || y > foot - 4) continue;
        c.strokeStyle = ink.hair; c.lineWidth = 1; c.beginPath(); c.moveTo(left, y + .5); c.lineTo(left + width, y + .5); c.stroke();
        c.fillStyle = ink.ink2; c.fillText(`${number(v, d)}${small ? '' : ' ' + HEIGHT.unit}`, left + width + 7, y);
      }
    }
    c.strokeStyle = ink.ink2; c.fillStyle = ink.ink2; c.lineWidth = 1; c.textAlign = 'center';
    c.beginPath(); c.moveTo(left, foot + .5); c.lineTo(left + width, foot + .5); c.stroke();
    for (const [t, text] of ruler(from, to, width, 62)) {
      const x = Math.round(this.x(t)) + .5, half = c.measureText(text).width / 2;
      c.beginPath(); c.moveTo(x, foot); c.lineTo(x, foot + 5); c.stroke();
      c.fillText(text, Math.min(Math.max(x, left + half), left + width - half), foot + 13);
    }
    // Phase names, each in its span where the whole of it fits, else on a second line if nothing stands there.
    c.font = '12px B612'; c.textAlign = 'left';
    let reached = -Infinity;
    told.phases.forEach(p => {
      const a = this.x(p.from_s), b = this.x(p.to_s), name = sentence(p.name), long = c.measureText(name).width, fits = long + 8 < b - a;
      const start = Math.min(a, left + width - long - 5), below = !fits && start >= reached + 6 && !small;
      c.strokeStyle = ink.line; c.beginPath(); c.moveTo(Math.round(a) + .5, foot + 25); c.lineTo(Math.round(a) + .5, foot + (below ? 60 : 43)); c.stroke();
      c.fillStyle = fits ? ink.ink : ink.ink2;
      if (fits) c.fillText(name, a + 5, foot + 35);
      else if (below) { c.fillText(name, start + 5, foot + 54); reached = start + 5 + long; }
    });
  },
  line(c, dotted) {
    const map = { x: t => this.x(t), y: v => this.y(v), from, to, width: this.width };
    if (!HEIGHT) {
      c.strokeStyle = ink.ink; c.lineWidth = 1.7; if (dotted) c.setLineDash([2, 4]);
      c.beginPath(); c.moveTo(this.left, this.foot - 20); c.lineTo(this.left + this.width, this.foot - 20); c.stroke(); c.setLineDash([]);
      return;
    }
    c.strokeStyle = ink.ink; c.lineJoin = 'round'; c.lineCap = dotted ? 'round' : 'butt'; c.lineWidth = dotted ? 1.8 : 2.2; c.setLineDash(dotted ? [0.1, 4.2] : []);
    for (const piece of pieces(HEIGHT, from, to)) if (piece[0] === 'run') { c.beginPath(); runPath(c, HEIGHT, piece[1], piece[2], map); c.stroke(); }
    c.setLineDash([]); c.lineCap = 'butt';
  },
  move() {
    if (this.width === undefined) return;
    const x = this.x(cursor), reading = HEIGHT ? HEIGHT.at(cursor) : null;
    this.behind.style.clipPath = `inset(0 calc(100% - ${x}px) 0 0)`;
    this.ahead.style.clipPath = 'none';
    this.hand.style.transform = `translateX(${x}px)`;
    this.dot.style.display = reading && reading.value !== null ? '' : 'none';
    if (reading && reading.value !== null) this.dot.style.transform = `translate(${x}px, ${this.y(reading.value)}px)`;
    const whole = view.from <= from && view.to >= to;
    this.window.style.display = whole ? 'none' : '';
    this.window.style.left = `${this.x(view.from)}px`; this.window.style.width = `${Math.max(2, this.x(view.to) - this.x(view.from))}px`;
    this.slider.setAttribute('aria-valuenow', String(Math.round(cursor - from)));
    const phase = phaseAt(cursor);
    this.slider.setAttribute('aria-valuetext', [clockText(cursor), phase ? sentence(phase.name) : '', reading && reading.value !== null ? `${HEIGHT.label} ${number(reading.value, 0)} ${HEIGHT.unit}` : ''].filter(Boolean).join(', '));
    if (phase !== this.phase) { this.phase = phase; $('phase-rule').replaceChildren(...(phase ? [el('b', '', sentence(phase.name)), el('span', '', `: ${phase.rule}`)] : [])); }
  },
};
