// The records, and what a channel says at a moment: the same rules, in the same order of operations, as the program's own readings.
const part = id => document.getElementById(id).textContent;
const told = JSON.parse(part('document'));
const drawn = JSON.parse(part('drawn'));
// The annotated films beside the page: the camera of each, and the time in the camera's film at which it begins.
const shownFilms = JSON.parse(part('filmaddress'));

if (typeof DecompressionStream === 'undefined') {
  const said = document.createElement('p');
  said.className = 'card';
  said.textContent = 'This browser cannot unpack the numbers of this page; one of 2023 or later can.';
  document.querySelector('main').prepend(said);
  return;
}
const bytes = await (async text => {
  let packed;
  if (Uint8Array.fromBase64) packed = Uint8Array.fromBase64(text);
  else { const raw = atob(text); packed = new Uint8Array(raw.length); for (let i = 0; i < raw.length; i++) packed[i] = raw.charCodeAt(i); }
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream('deflate'));
  return new Uint8Array(await new Response(stream).arrayBuffer());
})(part('bytes').trim());

const FORMS = { u8: Uint8Array, u16: Uint16Array, u32: Uint32Array, f64: Float64Array };

function unpack(packed) {
  // First bytes of all numbers lie before second bytes of all.
  const Form = FORMS[packed.form], size = Form.BYTES_PER_ELEMENT, whole = new Uint8Array(size * packed.count);
  for (let k = 0, from = packed.at; k < size; k++) for (let i = k; i < whole.length; i += size) whole[i] = bytes[from++];
  const short = new Form(whole.buffer);
  if (packed.form === 'f64') return short;
  const { base, per, count } = packed, out = new Float64Array(count);
  if (packed.steps) {
    let sum = base;
    for (let i = 0; i < count; i++) out[i] = (sum += short[i]) / per;
  } else {
    for (let i = 0; i < count; i++) out[i] = (base + short[i]) / per;
  }
  return out;
}

// A straight line from one clock to another, in the order of the program's own sum.
const onto = (fit, t) => fit.pivot_s + fit.offset_at_pivot_s + fit.rate * (t - fit.pivot_s);
const back = (fit, t) => fit.pivot_s + (t - fit.pivot_s - fit.offset_at_pivot_s) / fit.rate;

// What is made once, when it is first asked for: a channel that nobody looks at costs nothing.
const once = (it, name, value) => { Object.defineProperty(it, name, { value }); return value; };
// Logs and times of a flight whose channels these are.
const own = { groups: drawn.groups, packed: drawn.axes, axes: drawn.axes.map(() => null) };

class Channel {
  constructor(made, index, of) {
    const { axis, values, ...rest } = made;
    Object.assign(this, rest);
    this.index = index;
    this.packed = { axis, values, of };
    this.fit = of.groups[made.group].fit;
    [this.joined, this.held, this.stale] = made.rules;
    this.last = 0;
  }
  get times() { const { axis, of } = this.packed; return once(this, 'times', of.axes[axis] || (of.axes[axis] = unpack(of.packed[axis]))); }
  get values() { return once(this, 'values', unpack(this.packed.values)); }
  // Whether a record and the next one are neighbours: close enough, and the logger was not off between them.
  joins(i) { return i + 1 < this.times.length && this.times[i + 1] - this.times[i] <= this.joined && !this.cuts.includes(i + 1); }
  // Where neighbours are not joined: the index before the gap.
  get breaks() {
    const out = [];
    for (let i = 0; i + 1 < this.times.length; i++) if (!this.joins(i)) out.push(i);
    return once(this, 'breaks', out);
  }
  get reach() {
    let low = Infinity, high = -Infinity;
    if (!this.texts) for (const v of this.values) { if (v < low) low = v; if (v > high) high = v; }
    return once(this, 'reach', [low, high]);
  }
  get low() { return this.reach[0]; }
  get high() { return this.reach[1]; }

  // Index of the last record not after a time on the log's own clock; -1 before the first.
  recordAt(t) {
    const { times } = this;
    if (!(times.length && t >= times[0])) return -1;
    let a = 0, b = times.length;
    const near = this.last;
    if (near < b && times[near] <= t && (near + 1 >= b || times[near + 1] > t)) return near;
    while (b - a > 1) { const m = (a + b) >> 1; if (times[m] <= t) a = m; else b = m; }
    return this.last = a;
  }

  // Value, state and age at a session time.
  at(session) {
    const none = { value: null, state: 'invalid', age: Infinity };
    if (!this.fit) return none;
    const t = onto(this.fit, session), i = this.recordAt(t);
    if (i < 0) return none;
    const { times, values, texts } = this, age = t - times[i], fresh = this.derived && !texts ? 'derived' : 'measured';
    const joined = this.joins(i);
    const told = v => texts ? texts[v] : v;
    if (age === 0 || joined) {
      let v = values[i];
      if (age !== 0 && !texts && this.kind !== 'discrete') {
        const share = age / (times[i + 1] - times[i]);
        v = this.kind === 'angle' ? onArc(v, values[i + 1], share) : v + (values[i + 1] - v) * share;
      }
      return { value: told(v), state: fresh, age: 0 };
    }
    if (age <= this.held) return { value: told(values[i]), state: 'held', age };
    if (age <= this.stale) return { value: null, was: told(values[i]), state: 'stale', age };
    return { value: null, state: 'invalid', age };
  }
}

const modulo = (a, n) => ((a % n) + n) % n;
// From one direction towards another along the shorter arc.
const onArc = (a, b, share) => modulo(a + (modulo(b - a + 540, 360) - 180) * share, 360);

const channels = drawn.channels.map((made, i) => new Channel(made, i, own));
const from = told.flight.from_s, to = told.flight.to_s;
// The camera whose time is meant by film time.
const film = (shownFilms.length ? told.flight.films[shownFilms[0].camera] : told.flight.films.find(film => film.fit)) || null;
const filmTime = t => film && film.fit ? back(film.fit, t) : null;
const inFilm = t => {
  const f = filmTime(t);
  return f !== null && f >= 0 && (film.duration_s === null || f <= film.duration_s);
};
const phaseAt = t => {
  let a = 0, b = told.phases.length;
  while (b - a > 1) { const m = (a + b) >> 1; if (told.phases[m].from_s <= t) a = m; else b = m; }
  return told.phases[a] || null;
};
// The state of a list of turns at a time.
const turnAt = (turns, t, before) => {
  let a = -1, b = turns.length;
  while (b - a > 1) { const m = (a + b) >> 1; if (turns[m][0] <= t) a = m; else b = m; }
  return a < 0 ? before : turns[a][1];
};
