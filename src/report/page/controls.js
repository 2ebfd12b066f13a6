// The controls: one thin plot each, from end to end of its travel, on one time axis; their middle is a line.
class Controls {
  constructor(list, box) {
    this.list = list.map(it => ({ ...it, channel: channels[it.channel] }));
    const tiles = el('div', 'tiles');
    this.now = this.list.map(it => {
      const now = el('b', 'now');
      tiles.append(el('div', 'rowtile control', { title: `${it.channel.name}: ${it.ends.join(' to ')}` }, el('span', 'name', it.name), now));
      return now;
    });
    this.canvas = el('canvas', '', { 'aria-hidden': 'true' });
    this.plot = el('div', 'plot', this.canvas);
    this.row = el('div', 'lane rows controls', tiles, this.plot);
    box.append(this.row);
  }
  make() { this.made = true; }
  band() { return laneBox.stacked ? 64 : laneBox.paper ? 36 : 48; }
  height() { return this.list.length * this.band() + 6; }
  share(it, v) { return (v - it.range[0]) / (it.range[1] - it.range[0]); }
  draw_soon() {
    if (!this.made || !this.visible) { this.dirty = true; return; }
    this.dirty = false;
    const height = this.height(), [, c] = canvasOf(laneBox.plot, height, this.canvas), left = laneBox.axis, width = laneBox.plot - laneBox.axis - laneBox.right;
    const x = t => left + width * (t - view.from) / (view.to - view.from);
    this.list.forEach((it, n) => {
      const top = 3 + n * this.band() + (laneBox.stacked ? 18 : 4), foot = 3 + (n + 1) * this.band() - 4, middle = (top + foot) / 2;
      const y = v => foot - (foot - top) * Math.min(1, Math.max(0, this.share(it, v)));
      c.fillStyle = ink.plot; c.fillRect(left, top, width, foot - top);
      told.phases.forEach((p, i) => { if (i % 2 === 0 && p.to_s > view.from && p.from_s < view.to) { const a = Math.max(left, x(p.from_s)); c.fillStyle = ink.ground; c.fillRect(a, top, Math.min(left + width, x(p.to_s)) - a, foot - top); } });
      c.strokeStyle = ink.hair; c.lineWidth = 1; c.beginPath(); c.moveTo(left, Math.round(middle) + .5); c.lineTo(left + width, Math.round(middle) + .5); c.stroke();
      c.fillStyle = ink.ink2; c.font = '11px B612'; c.textAlign = 'right';
      c.textBaseline = 'top'; c.fillText(it.ends[1], left - 8, top - 1);
      c.textBaseline = 'bottom'; c.fillText(it.ends[0], left - 8, foot + 1);
      if (laneBox.stacked) { c.textAlign = 'left'; c.textBaseline = 'top'; c.font = '12px B612'; c.fillText(it.name, left + 2, top - 17); }
      c.save(); c.beginPath(); c.rect(left, top - 3, width, foot - top + 6); c.clip();
      const map = { x, y, from: view.from, to: view.to };
      for (const piece of pieces(it.channel, view.from, view.to)) {
        if (piece[0] === 'run') { c.strokeStyle = ink.ink; c.lineWidth = 1.6; c.lineJoin = 'round'; c.beginPath(); runPath(c, it.channel, piece[1], piece[2], map); c.stroke(); }
        if (piece[0] === 'none') { const a = x(piece[1]), b = x(piece[2]); if (b - a > 0.75) { c.fillStyle = ink.gap; c.fillRect(a, top, b - a, foot - top); } }
      }
      c.restore();
    });
  }
  move() {
    this.list.forEach((it, i) => {
      const r = it.channel.at(cursor), share = r.value === null ? null : this.share(it, r.value);
      // A lever counts from its lower end, a stick and pedals from the middle of their travel.
      const text = share === null ? STATES[r.state] : it.centred ? (Math.abs(share - .5) < .005 ? 'middle' : `${number(Math.abs(share - .5) * 200, 0)} % ${it.ends[share > .5 ? 1 : 0]}`) : `${number(share * 100, 0)} %`;
      if (this.now[i].textContent !== text) { this.now[i].textContent = text; this.now[i].dataset.grade = r.value === null ? 'none' : 'word'; }
    });
  }
}
