// Numbers, times and elements. Whatever comes from a file goes onto the page as text, never as markup.
const MINUS = '\u2212';
const number = (v, decimals) => {
  if (v === null || v === undefined || !Number.isFinite(v)) return 'none';
  if (Math.abs(v) >= 1e7) return v.toExponential(2).replace('-', MINUS);
  const text = v.toFixed(decimals);
  return /^-[0.]*$/.test(text) ? text.slice(1) : text.replace('-', MINUS);
};
const two = n => String(n).padStart(2, '0');
// h:mm:ss, with tenths where they are asked for.
const clockText = (s, tenths = 0) => {
  const sign = s < 0 ? MINUS : '', per = 10 ** tenths, all = Math.floor(Math.abs(s) * per + 1e-6), whole = Math.floor(all / per);
  const part = tenths ? '.' + String(all % per).padStart(tenths, '0') : '';
  return `${sign}${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}${part}`;
};
// How long something lasted, always with its units: a bare 2:40 beside a fuel value would read as endurance.
const lasted = s => {
  if (s === null || s === undefined) return 'none';
  if (s < 9.95) return `${number(s, 1)} s`;
  const whole = Math.round(s);
  if (whole < 60) return `${whole} s`;
  if (whole < 3600) return `${Math.floor(whole / 60)} min ${whole % 60} s`;
  return `${Math.floor(whole / 3600)} h ${Math.floor(whole / 60) % 60} min`;
};
const zero = told.flight.first_utc === null ? null : Date.parse(told.flight.first_utc);
const utcText = (t, tenths = false) => {
  if (zero === null) return null;
  const d = new Date(zero + t * 1000);
  return `${two(d.getUTCHours())}:${two(d.getUTCMinutes())}:${two(d.getUTCSeconds())}${tenths ? '.' + Math.floor(d.getUTCMilliseconds() / 100) : ''}`;
};
const sentence = name => name ? name[0].toUpperCase() + name.slice(1).toLowerCase() : '';
const upper = text => text ? text[0].toUpperCase() + text.slice(1) : '';
const STATES = { measured: 'measured', derived: 'calc', held: 'held', stale: 'stale', invalid: 'no data', saturated_low: 'sensor at its end', saturated_high: 'sensor at its end' };
// Control characters have no shape and could reorder a line.
const clean = text => String(text).replace(/[\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '\ufffd');

const $ = id => document.getElementById(id);
// An element with a class, attributes and what is in it.
function el(tag, className, ...inside) {
  const it = document.createElement(tag);
  if (className) it.className = className;
  for (const one of inside) {
    if (one === null || one === undefined) continue;
    if (one instanceof Node) it.append(one);
    else if (typeof one === 'object') for (const [key, value] of Object.entries(one)) it.setAttribute(key, clean(value));
    else it.append(clean(one));
  }
  return it;
}

// A plate of severity. Shape says it without colour, and a text for those who see neither.
const SHAPES = { warning: 'warning', caution: 'caution', advisory: 'advisory', unknown: 'unknown' };
function plate(severity, subject, word, kind = 'large') {
  const shape = SHAPES[severity] || 'plain';
  const spoken = severity && SHAPES[severity] ? el('span', 'unseen', `${severity === 'unknown' ? 'not judged' : severity}: `) : null;
  const inside = el('span', 'in', spoken, subject ? el('span', 'subject', subject) : null, el('b', '', word));
  return el('span', `plate ${shape} ${kind}`, inside);
}
const RANK = { warning: 0, caution: 1, advisory: 2 };

// Kinds whose own words are too long for a plate.
const ON_PLATE = { lamp_and_alert_differ: 'Differ', lamp_disagree: 'Disagree', split_not_judged: 'Split' };
// Everything that happened, in the order of time, with a number each.
const limitOf = name => told.limits.find(limit => limit.name === name);
const channelOf = name => channels.find(c => c.name === name) || channels.find(c => c.label === name) || null;
const moments = (() => {
  const list = [];
  for (const e of told.exceedances) {
    const c = channelOf(e.channel), d = c ? Math.max(c.decimals, 0) : 1, limit = limitOf(e.limit), more = e.at_least ? 'at least ' : '';
    list.push({
      what: 'exceedance', severity: e.severity, subject: e.subject, word: e.word, name: upper(e.limit), about: '',
      from: e.from_s, to: e.to_s, at: e.peak_s, value: `${more}${number(e.peak, d)} ${e.unit}`.trim(), peak: e.peak, limitValue: e.limit_value,
      limit: `limit ${number(e.limit_value, d)} ${e.unit}`.trim(), lasted: more + lasted(e.to_s - e.from_s), exact: e.plus_minus_s,
      phase: e.phase, rule: e.rule, source: e.source, channel: c, order: told.limits.indexOf(limit), facts: [], film: e.film_s, utc: e.utc });
  }
  for (const e of told.events) {
    // What was measured at the moment to go to stands for the event.
    const peak = e.peak_s === null ? null : e.facts.find(f => f.at_s === e.peak_s);
    list.push({
      what: 'event', kind: e.kind, severity: e.severity, subject: '', word: ON_PLATE[e.kind] || sentence(e.kind.replaceAll('_', ' ')), name: upper(e.name), about: '',
      from: e.from_s, to: e.to_s, at: e.peak_s === null ? e.from_s : e.peak_s, value: peak ? `${number(peak.value, peak.decimals)} ${peak.unit}`.trim() : '', limit: '',
      lasted: e.to_s > e.from_s ? lasted(e.to_s - e.from_s) : '', exact: e.plus_minus_s, phase: e.phase, rule: e.rule, source: '',
      channel: null, order: 1e6, facts: e.facts, film: e.film_s, utc: e.utc });
  }
  // Limits that share a gap are told once.
  const gaps = [];
  for (const n of told.not_judged) {
    const same = gaps.find(g => Math.abs(g.from_s - n.from_s) < 0.5 && Math.abs(g.to_s - n.to_s) < 0.5);
    if (same) { same.names.push(n.limit); same.whys.add(n.why); same.from_s = Math.min(same.from_s, n.from_s); same.to_s = Math.max(same.to_s, n.to_s); }
    else gaps.push({ from_s: n.from_s, to_s: n.to_s, names: [n.limit], whys: new Set([n.why]) });
  }
  for (const n of gaps) {
    const many = n.names.length > 1, whys = [...n.whys];
    list.push({
      what: 'gap', severity: 'unknown', subject: '', word: 'Not judged', name: many ? `${n.names.length} limits not judged` : `${upper(n.names[0])}, not judged`,
      about: whys.length > 1 ? `${whys[0]}, and ${whys.length - 1} more` : whys[0], from: n.from_s, to: n.to_s, at: n.from_s, value: 'none', limit: '', lasted: lasted(n.to_s - n.from_s),
      exact: null, phase: (phaseAt(n.from_s) || {}).name || '', rule: many ? [n.names.join(', '), ...whys].join('\n') : '', source: '', channel: null, order: 1e7,
      facts: [], film: inFilm(n.from_s) ? filmTime(n.from_s) : null, utc: null });
  }
  list.sort((a, b) => a.from - b.from || (RANK[a.severity] ?? 3) - (RANK[b.severity] ?? 3) || a.order - b.order);
  list.forEach((m, i) => { m.no = i + 1; });
  return list;
})();
const factText = f => `${f.name} ${number(f.value, f.decimals)}${f.unit ? ' ' + f.unit : ''}`;
