// The same phase of two flights, one over the other: this flight's line is whole, the other's broken and of another shade.
const compare = {
  make() {
    const it = told.comparison;
    if (!it) return;
    this.it = it;
    $('comparecard').hidden = false;
    $('compare-said').append(...it.said.map(text => el('li', '', text)));
    const box = $('compare');
    if (it.nothing) { box.append(none(upper(it.nothing) + '.')); this.left(box); return; }
    const beside = JSON.parse(part('other')), of = { groups: beside.groups, packed: beside.axes, axes: beside.axes.map(() => null) };
    const theirs = beside.channels.map((made, i) => new Channel(made, i, of));
    // In the order of the figures.
    this.both = it.channels.filter(c => c.compared).map(row => {
      const here = channels.find(o => o.name === row.channel), there = theirs.find(o => o.name === row.other);
      // As fine as it was written down: rounded to the dial, a difference would be one of rounding.
      const written = c => Math.max(c.decimals, c.derived ? 0 : Math.min(3, c.packed.values.decimals ?? 0));
      return { row, here, there, decimals: Math.max(written(here), written(there)) };
    });
    const pick = (name, text) => {
      const select = el('select', '', { id: `compare-${name}` });
      select.addEventListener('change', () => this.chosen(name));
      this[name] = select;
      return el('label', '', el('span', '', text), select);
    };
    const bar = el('div', 'comparebar', pick('phase', 'Phase'), pick('mine', 'This flight'), pick('other', 'The other flight'), pick('by', 'Laid over each other by'));
    this.what = el('p', 'what');
    this.slider = el('input', '', { type: 'range', step: 'any', id: 'compare-cursor', 'aria-label': 'Cursor of both flights' });
    this.slider.addEventListener('input', () => this.set(Number(this.slider.value)));
    this.slider.addEventListener('keydown', e => this.keys(e));
    this.when = el('output', '', { for: 'compare-cursor' });
    const names = [told.flight, it.other].map(f => [f.title || f.aircraft || 'no title', f.first_utc ? f.first_utc.slice(0, 10) : ''].filter(Boolean).join(', '));
    const key = (kind, who, name) => el('li', '', svg('svg', { viewBox: '0 0 44 8', class: `stroke ${kind}`, 'aria-hidden': 'true' }, svg('path', { d: 'M0 4H44' })), el('b', '', who), el('span', 'dim', ` ${name}`));
    this.plots = el('div', 'compareplots');
    this.ruler = el('canvas', '', { 'aria-hidden': 'true' });
    this.line = el('div', 'compareline');
    this.plots.append(el('div', 'comparelane first', el('div', 'comparetile'), el('div', 'compareplot', this.ruler)));
    this.lanes = this.both.map((both, i) => this.lane(both, i));
    const computed = this.lanes.filter(lane => lane.row.derived);
    this.plots.append(...this.lanes.filter(lane => !lane.row.derived).map(lane => lane.box));
    if (computed.length) {
      const fold = el('details', 'group', el('summary', '', el('h3', '', `Computed, ${computed.length} channels`, el('i', '', 'calc'))), ...computed.map(lane => lane.box));
      fold.addEventListener('toggle', () => this.draw());
      this.plots.append(fold);
    }
    this.plots.append(this.line);
    this.figures = el('div', 'scroll');
    box.append(bar, this.what, el('ul', 'comparekey', key('mine', 'This flight', names[0]), key('other', 'The other', names[1])), el('div', 'comparecursor', this.slider, this.when), this.plots,
      el('h3', '', 'Figures of the phase'), this.figures);
    this.left(box);
    $('compare-rule').textContent = clean(it.rule);
    const place = e => {
      const shown = e.target.closest('.compareplot');
      return shown && this.from + (this.to - this.from) * Math.min(1, Math.max(0, (e.clientX - shown.getBoundingClientRect().left - this.axis) / this.width));
    };
    this.plots.addEventListener('pointerdown', e => { const at = place(e); if (!e.button && at !== null) this.set(at); });
    this.plots.addEventListener('pointermove', e => { const at = e.buttons === 1 ? place(e) : null; if (at !== null) this.set(at); });
    const phases = [...new Set(it.here.map(o => o.phase))];
    this.phase.append(...phases.map(name => el('option', '', sentence(name), { value: name })));
    this.phase.value = it.pairs[0].phase;
    this.chosen('phase');
  },
  // What cannot be compared, each with its reason.
  left(box) {
    const rest = this.it.channels.filter(c => !c.compared), close = this.it.channels.filter(c => c.compared && c.note);
    if (close.length) box.append(el('h3', '', 'Compared, but not alike'), table([['Channel', 'name'], ['What differs', 'rule']], close.map(c => [el('b', '', c.channel), c.note])));
    if (rest.length) box.append(el('h3', '', 'Not compared'), table([['Channel', 'name'], ['Why', 'rule']], rest.map(c => [el('b', '', c.channel), c.note])));
  },
  lane({ row, here, there, decimals }) {
    const canvas = el('canvas', '', { 'aria-hidden': 'true' }), values = [el('b', 'mine'), el('b', 'other'), el('span', 'apart')];
    const tile = el('div', 'comparetile', el('span', 'name', here.label, row.unit ? el('span', 'unit', ` ${row.unit}`) : null), el('span', 'comparenow', ...values));
    return { row, here, there, decimals, canvas, values, box: el('div', 'comparelane', { title: row.channel }, tile, el('div', 'compareplot', canvas)) };
  },
  chosen(name) {
    const { here, there, pairs } = this.it, phase = this.phase.value;
    const option = list => o => el('option', '', o.of > 1 ? `${sentence(o.phase)} ${o.number} of ${o.of}, ${clockText(o.from_s)}` : `${sentence(o.phase)}, ${clockText(o.from_s)}`, { value: String(list.indexOf(o)) });
    const pair = pairs.find(p => p.phase === phase && (name !== 'mine' || p.here === Number(this.mine.value)));
    if (name === 'phase') {
      this.mine.replaceChildren(...here.filter(o => o.phase === phase).map(option(here)));
      this.other.replaceChildren(...there.filter(o => o.phase === phase).map(option(there)));
      this.mine.value = String(pair.here);
      this.other.value = String(pair.there);
    }
    const a = here[Number(this.mine.value)], b = there[Number(this.other.value)];
    if (name !== 'by') {
      const shared = a.marks.filter(m => b.marks.some(o => o.name === m.name)).map(m => m.name), was = this.by.value;
      const ways = ['start', 'end', ...shared], usual = pairs.find(p => p.phase === phase).laid_by;
      this.by.replaceChildren(...ways.map(way => el('option', '', way === 'start' || way === 'end' ? `its ${way}` : way, { value: way })));
      this.by.value = name !== 'phase' && ways.includes(was) ? was : usual;
    }
    this.lay(a, b, this.by.value);
  },
  lay(a, b, by) {
    const at = o => by === 'start' ? o.from_s : by === 'end' ? o.to_s : o.marks.find(m => m.name === by).at_s;
    [this.a, this.b, this.zero] = [a, b, [at(a), at(b)]];
    const spans = [a, b].map((o, i) => [o.from_s - this.zero[i], o.to_s - this.zero[i]]);
    const lead = Math.max(2, 0.08 * Math.max(...spans.map(s => s[1] - s[0])));
    this.from = Math.min(0, ...spans.map(s => s[0])) - lead;
    this.to = Math.max(0, ...spans.map(s => s[1])) + lead;
    this.spans = spans;
    const which = o => o.of > 1 ? `${sentence(o.phase)} ${o.number}` : sentence(o.phase), took = spans.map(s => s[1] - s[0]), longer = took[0] - took[1];
    const exact = 2 * Math.hypot(a.plus_minus_s, b.plus_minus_s);
    this.what.textContent = clean(`${which(a)} of this flight over ${which(b).toLowerCase()} of the other, laid by ${by === 'start' || by === 'end' ? `its ${by}` : by}. It lasted ${number(took[0], 1)}\u00a0s here and ${number(took[1], 1)}\u00a0s there, `
      + `${number(Math.abs(longer), 1)}\u00a0±\u00a0${number(exact, 1)}\u00a0s ${longer < 0 ? 'shorter' : 'longer'} here.`);
    this.slider.min = this.from; this.slider.max = this.to;
    this.table();
    this.draw();
    this.set(0);
  },
  table() {
    const differ = (x, y, d) => signed(x - y, d);
    const cells = (a, b, key, d) => {
      const value = (f, o) => f ? el('span', 'spread', el('b', '', number(f[key], d)), key === 'mean' ? null : el('span', '', `at ${number(f[`${key}_s`] - o.from_s, 1)} s`)) : el('span', 'dim', 'none');
      return [value(a, this.a), value(b, this.b), a && b ? el('b', '', differ(a[key], b[key], d)) : el('span', 'dim', 'none')];
    };
    const rows = derived => this.both.map(({ row, decimals }, i) => {
      const a = this.a.figures[i], b = this.b.figures[i];
      return row.derived === derived && (a || b) ? [el('span', '', el('b', '', row.channel), row.unit ? el('span', 'dim', ` ${row.unit}`) : null), ...['least', 'mean', 'greatest'].flatMap(key => cells(a, b, key, decimals))] : null;
    }).filter(Boolean);
    const head = [['Channel', 'name'], ...['Least', 'Mean', 'Greatest'].flatMap(word => [[`${word} here`, 'num'], [`${word} there`, 'num'], ['Difference', 'num apart']])];
    const written = derived => table(head, rows(derived), 'comparefigures');
    const computed = this.lanes.filter(lane => lane.row.derived).length;
    this.figures.replaceChildren(written(false), computed ? folded(`Computed channels, ${computed}`, () => written(true)) : '',
      el('p', 'note', 'Times count from the start of the phase. Difference is this flight less the other. Directions have no mean.'));
  },
  x(u) { return this.axis + this.width * (u - this.from) / (this.to - this.from); },
  draw() {
    if (!this.zero) return;
    const narrow = this.plots.clientWidth < 560, tile = narrow ? 0 : 200;
    this.plots.classList.toggle('stacked', narrow);
    const all = this.plots.clientWidth - tile, depth = laneBox.paper ? 52 : 84;
    this.axis = narrow ? 44 : 56; this.width = Math.max(100, all - this.axis - 12);
    this.tile = tile;
    this.times(all);
    for (const lane of this.lanes) if (lane.box.offsetParent !== null) this.curves(lane, all, depth);
    this.move();
  },
  // Above the lanes: how long the phase lasted in each flight, and the time from where they meet.
  times(all) {
    const [, c] = canvasOf(all, 44, this.ruler);
    [ink.ink, ink.hand2].forEach((colour, i) => {
      c.strokeStyle = colour; c.lineWidth = 4; c.setLineDash(i ? DASHED : []);
      c.beginPath(); c.moveTo(this.x(this.spans[i][0]), 5 + 9 * i); c.lineTo(this.x(this.spans[i][1]), 5 + 9 * i); c.stroke();
    });
    c.setLineDash([]);
    c.font = '11px B612'; c.fillStyle = ink.ink2; c.textAlign = 'center'; c.textBaseline = 'middle';
    this.ticks = ruler(this.from, this.to, this.width, 64);
    for (const [u, text] of this.ticks) c.fillText(text, Math.min(this.x(u), all - 16), 32);
  },
  curves(lane, all, depth) {
    const [, c] = canvasOf(all, depth, lane.canvas), top = 6, foot = depth - 6, { from: u0, to: u1 } = this;
    const lines = [[lane.here, this.zero[0], ink.ink, []], [lane.there, this.zero[1], ink.hand2, DASHED]];
    let low = Infinity, high = -Infinity;
    for (const [channel, zero] of lines) {
      if (!channel.fit) continue;
      const last = channel.recordAt(onto(channel.fit, zero + u1));
      for (let n = Math.max(0, channel.recordAt(onto(channel.fit, zero + u0))); n <= last; n++) { low = Math.min(low, channel.values[n]); high = Math.max(high, channel.values[n]); }
    }
    if (!(low <= high)) [low, high] = [0, 1];
    // A quantity that stood still is a level line, and not its own noise.
    const least = 20 * 10 ** -Math.max(lane.here.decimals, lane.there.decimals), spare = Math.max(0.06 * (high - low), (least - (high - low)) / 2);
    if (lane.here.kind === 'angle') [low, high] = [0, 360]; else [low, high] = [low - spare, high + spare];
    const y = v => foot - (foot - top) * (v - low) / (high - low);
    c.fillStyle = ink.plot; c.fillRect(this.axis, 0, this.width, depth);
    c.strokeStyle = ink.hair; c.lineWidth = 1; c.font = '11px B612'; c.fillStyle = ink.ink2; c.textBaseline = 'middle';
    for (const [u] of this.ticks) { const x = Math.round(this.x(u)) + .5; c.beginPath(); c.moveTo(x, 0); c.lineTo(x, depth); c.stroke(); }
    const [ticks, places] = lane.here.kind === 'angle' ? [[0, 180, 360], 0] : roundTicks(low, high, 3);
    c.textAlign = 'right';
    for (const v of ticks) {
      if (y(v) < 5 || y(v) > depth - 5) continue;
      c.beginPath(); c.moveTo(this.axis, y(v)); c.lineTo(this.axis + this.width, y(v)); c.stroke();
      c.fillText(number(v, places), this.axis - 7, y(v));
    }
    c.strokeStyle = ink.ink2; c.beginPath(); c.moveTo(this.x(0), 0); c.lineTo(this.x(0), depth); c.stroke();
    c.save(); c.beginPath(); c.rect(this.axis, 0, this.width, depth); c.clip();
    c.lineJoin = 'round';
    // This flight's line last, so that it stays whole.
    for (const [channel, zero, colour, dash] of lines.reverse()) {
      const map = { x: t => this.x(t - zero), y, from: zero + u0, to: zero + u1, ratio: window.devicePixelRatio || 1 };
      c.strokeStyle = colour; c.lineWidth = dash.length ? 2.2 : 1.7; c.setLineDash(dash);
      for (const piece of pieces(channel, map.from, map.to)) if (piece[0] === 'run') { c.beginPath(); runPath(c, channel, piece[1], piece[2], map); c.stroke(); }
    }
    c.restore();
  },
  set(u) {
    this.cursor = Math.min(this.to, Math.max(this.from, u));
    this.move();
  },
  keys(e) {
    const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[e.key], end = { Home: this.from, End: this.to }[e.key];
    if (e.ctrlKey || e.metaKey || e.altKey || (step === undefined && end === undefined)) return;
    e.preventDefault();
    this.set(end ?? this.cursor + step * (e.shiftKey ? 10 : 1) * (this.to - this.from > 120 ? 1 : 0.1));
  },
  move() {
    const u = this.cursor;
    this.line.style.transform = `translateX(${this.tile + this.x(u)}px)`;
    this.slider.value = u;
    const by = this.by.value, where = Math.abs(u) < 0.05 ? 'at' : `${number(Math.abs(u), 1)} s ${u < 0 ? 'before' : 'after'}`;
    const said = `${where} ${by === 'start' || by === 'end' ? `its ${by}` : by}`;
    this.when.value = said;
    this.when.dataset.at = u;
    this.when.dataset.here = this.zero[0] + u;
    this.when.dataset.there = this.zero[1] + u;
    this.slider.setAttribute('aria-valuetext', said);
    for (const { here, there, values, decimals: d } of this.lanes) {
      const a = here.at(this.zero[0] + u), b = there.at(this.zero[1] + u);
      [a, b].forEach((r, i) => {
        const text = r.value === null ? (r.state === 'stale' ? 'stale' : 'none') : number(r.value, d);
        if (values[i].textContent !== text) values[i].textContent = text;
        values[i].title = r.value === null ? '' : String(r.value);
      });
      const apart = a.value === null || b.value === null ? null : here.kind === 'angle' ? modulo(a.value - b.value + 540, 360) - 180 : a.value - b.value;
      values[2].textContent = apart === null ? '' : signed(apart, d);
    }
  },
};
const DASHED = [7, 4];
const signed = (v, d) => { const text = number(v, d); return v > 0 && !/^[0.]*$/.test(text) ? `+${text}` : text; };
