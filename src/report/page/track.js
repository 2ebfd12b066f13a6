// The way over the ground, north up.
const track = {
  make() {
    if (!drawn.track) { $('track').append(none(whyEmpty('track') || 'No position was logged.')); return false; }
    const [latitude, longitude] = drawn.track.map(i => channels[i]);
    // A plane that touches the ellipsoid in the middle of the flight (WGS 84: NGA.STND.0036, table 3.1).
    const fixes = [];
    let last = null;
    for (let i = 0; i < latitude.times.length; i++) {
      if (!latitude.fit) break;
      const t = back(latitude.fit, latitude.times[i]), lat = latitude.values[i], there = longitude.times === latitude.times ? longitude.values[i] : longitude.at(t).value;
      if (there === null || there === undefined || Math.abs(lat) > 90 || Math.abs(there) > 360) { last = null; continue; }
      fixes.push([t, lat, there, last !== null && latitude.times[i] - last <= latitude.joined && !latitude.cuts.includes(i)]);
      last = latitude.times[i];
    }
    if (fixes.length < 2) { $('track').append(none('Fewer than two positions were logged.')); return false; }
    const middle = n => { let a = Infinity, b = -Infinity; for (const f of fixes) { a = Math.min(a, f[n]); b = Math.max(b, f[n]); } return (a + b) / 2; };
    const [lat0, lon0] = [middle(1), middle(2)], sin = Math.sin(lat0 * Math.PI / 180), square = (2 - 1 / 298.257223563) / 298.257223563, w = 1 - square * sin * sin;
    const north = 6378137 * (1 - square) / w ** 1.5 * Math.PI / 180, east = 6378137 / Math.sqrt(w) * Math.cos(lat0 * Math.PI / 180) * Math.PI / 180;
    let [e0, e1, n0, n1] = [Infinity, -Infinity, Infinity, -Infinity];
    const all = fixes.map(([t, lat, lon, joined]) => {
      const e = (modulo(lon - lon0 + 540, 360) - 180) * east, n = (lat - lat0) * north;
      e0 = Math.min(e0, e); e1 = Math.max(e1, e); n0 = Math.min(n0, n); n1 = Math.max(n1, n);
      return [t, e, n, joined];
    });
    this.extent = [e0, e1, n0, n1];
    // No finer than a small map can show.
    const finest = Math.max(e1 - e0, n1 - n0, 1) / 1500;
    this.points = [];
    for (const p of all) {
      const q = this.points[this.points.length - 1];
      if (!q || !p[3] || Math.hypot(p[1] - q[1], p[2] - q[2]) >= finest || p[0] - q[0] > 30) this.points.push(p);
    }
    this.canvas = el('canvas', '', { role: 'img', 'aria-label': 'Ground track, north up' });
    this.still = document.createElement('canvas');
    $('track').append(this.canvas);
    this.canvas.addEventListener('click', e => {
      const box = this.canvas.getBoundingClientRect();
      let best = null, least = 24;
      for (const p of this.points) { const d = Math.hypot(this.x(p[1]) - (e.clientX - box.left), this.y(p[2]) - (e.clientY - box.top)); if (d < least) { least = d; best = p; } }
      if (best) setCursor(best[0]);
    });
    return true;
  },
  at(t) {
    const p = this.points;
    let a = 0, b = p.length;
    if (t < p[0][0] || t > p[b - 1][0] + 2) return null;
    while (b - a > 1) { const m = (a + b) >> 1; if (p[m][0] <= t) a = m; else b = m; }
    const q = p[a + 1];
    if (!q) return [p[a][1], p[a][2], a, a ? Math.atan2(p[a][1] - p[a - 1][1], p[a][2] - p[a - 1][2]) : 0];
    if (!q[3]) return null;
    const share = (t - p[a][0]) / (q[0] - p[a][0]), moved = Math.hypot(q[1] - p[a][1], q[2] - p[a][2]) > 1;
    if (moved) this.course = Math.atan2(q[1] - p[a][1], q[2] - p[a][2]);
    return [p[a][1] + (q[1] - p[a][1]) * share, p[a][2] + (q[2] - p[a][2]) * share, a, this.course || 0];
  },
  x(e) { return this.middle + (e - (this.extent[0] + this.extent[1]) / 2) * this.scale; },
  y(n) { return this.height / 2 - (n - (this.extent[2] + this.extent[3]) / 2) * this.scale; },
  draw() {
    if (!this.points) return;
    const width = $('track').clientWidth, [e0, e1, n0, n1] = this.extent;
    this.width = width; this.middle = width / 2;
    this.height = Math.max(200, Math.min(width * 0.72, (n1 - n0) / Math.max(e1 - e0, 1) * (width - 60) + 90));
    this.scale = Math.min((width - 60) / Math.max(e1 - e0, 50), (this.height - 70) / Math.max(n1 - n0, 50));
    const [, c] = canvasOf(width, this.height, this.still);
    c.fillStyle = ink.plot; c.beginPath(); c.roundRect(0, 0, width, this.height, 8); c.fill();
    c.strokeStyle = ink.hand2; c.lineWidth = 1; this.path(c, 0, this.points.length - 1); c.stroke();
    for (const m of moments) {
      if (m.what !== 'exceedance') continue;
      const a = this.points.findIndex(p => p[0] >= m.from);
      let b = a;
      while (b >= 0 && b < this.points.length - 1 && this.points[b][0] < m.to) b++;
      if (a < 0) continue;
      c.lineCap = 'round'; c.lineWidth = 4; c.strokeStyle = m.severity === 'warning' ? ink.red : m.severity === 'caution' ? ink.caution : ink.cyan;
      this.path(c, Math.max(0, a - 1), b); c.stroke(); c.lineCap = 'butt';
    }
    const start = this.points[0];
    c.strokeStyle = ink.ink; c.fillStyle = ink.plot; c.lineWidth = 1.6; c.beginPath(); c.arc(this.x(start[1]), this.y(start[2]), 4.5, 0, 7); c.fill(); c.stroke();
    // A bar of a round length, and north.
    const metres = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000, 200000].find(m => m * this.scale > 60) || 500000;
    c.lineWidth = 1.4; c.strokeStyle = c.fillStyle = ink.ink; c.font = '12px B612'; c.textBaseline = 'alphabetic'; c.textAlign = 'left';
    const y = this.height - 16;
    c.beginPath(); c.moveTo(16, y - 5); c.lineTo(16, y); c.lineTo(16 + metres * this.scale, y); c.lineTo(16 + metres * this.scale, y - 5); c.stroke();
    c.fillText(metres >= 1000 ? `${metres / 1000} km` : `${metres} m`, 22 + metres * this.scale, y + 1);
    c.beginPath(); c.moveTo(width - 22, 12); c.lineTo(width - 17, 25); c.lineTo(width - 27, 25); c.fill(); c.textAlign = 'center'; c.font = 'bold 12px B612'; c.fillText('N', width - 22, 40);
    canvasOf(width, this.height, this.canvas);
    this.move();
  },
  path(c, a, b) {
    c.beginPath();
    for (let i = a; i <= b; i++) { const p = this.points[i]; if (i === a || !p[3]) c.moveTo(this.x(p[1]), this.y(p[2])); else c.lineTo(this.x(p[1]), this.y(p[2])); }
  },
  move() {
    if (!this.points || !this.scale) return;
    const c = this.canvas.getContext('2d'), here = this.at(cursor);
    c.setTransform(1, 0, 0, 1, 0, 0); c.clearRect(0, 0, this.canvas.width, this.canvas.height); c.drawImage(this.still, 0, 0);
    const k = this.canvas.width / this.width;
    c.setTransform(k, 0, 0, k, 0, 0);
    if (!here) return;
    const [e, n, i, course] = here;
    let a = i;
    while (a > 0 && this.points[a][0] > cursor - 60 && this.points[a][3]) a--;
    c.strokeStyle = ink.ink; c.lineJoin = 'round';
    c.lineWidth = 2; c.lineCap = 'round'; c.setLineDash([0.1, 4]); this.path(c, 0, a); c.stroke();
    c.setLineDash([]); c.lineWidth = 3; this.path(c, a, i); c.lineTo(this.x(e), this.y(n)); c.stroke(); c.lineCap = 'butt';
    c.save(); c.translate(this.x(e), this.y(n)); c.rotate(course);
    c.beginPath(); c.moveTo(0, -12); c.quadraticCurveTo(7, 0, 0, 9); c.quadraticCurveTo(-7, 0, 0, -12);
    c.fillStyle = ink.ink; c.strokeStyle = ink.plot; c.lineWidth = 2; c.stroke(); c.fill(); c.restore();
  },
};
