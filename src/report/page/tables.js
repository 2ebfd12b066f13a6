// What is written rather than drawn.
function table(headers, rows, className = '') {
  const head = el('tr', '', ...headers.map(h => el('th', h[1] || '', h[0], { scope: 'col' })));
  const body = rows.map(row => el('tr', '', ...row.map((cell, i) => {
    const it = el('td', headers[i][1] || '', cell, { 'data-head': headers[i][0] });
    return it;
  })));
  // On a narrow screen its rows become cards.
  return el('table', `cardly ${className}`, el('thead', '', head), el('tbody', '', ...body));
}
// What is written when it is first unfolded.
function folded(name, write) {
  const it = el('details', 'more', el('summary', '', name));
  it.addEventListener('toggle', () => { if (it.open && it.children.length === 1) it.append(write()); show(); });
  return it;
}
const none = text => el('p', 'none', text);
// Why a part is empty.
const whyEmpty = part => (told.empty.find(it => it.part === part) || { why: '' }).why;

function masthead() {
  const { title, aircraft, films, first_utc, duration_s, reference } = told.flight;
  $('title').textContent = clean(title || aircraft || 'Flight debrief');
  const parts = [];
  if (aircraft && title) parts.push(aircraft);
  if (first_utc !== null) {
    const start = new Date(zero + from * 1000);
    const day = start.toLocaleDateString('en-GB', { weekday: 'long', day: 'numeric', month: 'long', year: 'numeric', timeZone: 'UTC' });
    parts.push(`${day}, ${utcText(from)} to ${utcText(to)} UTC`);
  }
  parts.push(`${lasted(duration_s)} logged`);
  const filmed = films.find(f => f.duration_s !== null);
  parts.push(filmed ? `${lasted(filmed.duration_s)} filmed` : 'no film');
  if (first_utc === null && reference) parts.push(`times on the clock of ${reference}`);
  $('when').textContent = clean(parts.join(' · '));
}

// Phases in which a warning has less weight than in flight.
const GROUND = ['STANDING', 'ROTOR START', 'RUN-UP', 'ON GROUND', 'RUN-DOWN'];
function summary() {
  const graded = moments.filter(m => m.severity in RANK);
  // A lamp, or an event with its cause, that tells of a limit passed at the same time is no second thing to have gone wrong.
  const twice = m => m.what === 'event' && /^(lamp|low_rotor|hot_start)/.test(m.kind) && graded.some(o => o.what === 'exceedance' && o.severity === m.severity && o.from < m.to + 1 && o.to > m.from - 1);
  const airborne = m => !GROUND.includes(m.phase);
  const key = m => [RANK[m.severity], airborne(m) ? 0 : 1, /^lamp/.test(m.kind || '') ? 1 : 0, m.order, m.from - m.to];
  const before = (a, b) => { const [x, y] = [key(a), key(b)]; for (let i = 0; i < x.length; i++) if (x[i] !== y[i]) return x[i] - y[i]; return 0; };
  const worst = graded.filter(m => !twice(m)).sort(before);
  const row = m => {
    const fact = m.facts.find(f => f.at_s !== m.at);
    const circumstance = [sentence(m.phase), ...(fact ? [factText(fact)] : [])].filter(Boolean).join(', ');
    const button = el('button', '', { type: 'button', 'data-moment': m.no - 1 },
      plate(m.severity, m.subject, m.word), el('span', 'text', el('b', '', m.name), el('span', '', `${circumstance}. At ${whenText(m.at)}`)),
      el('span', 'value', el('b', '', m.value || m.lasted), el('span', '', [m.limit, m.value ? m.lasted : ''].filter(Boolean).join(', '))));
    return el('li', '', button);
  };
  $('worst').append(...worst.slice(0, 6).map(row));
  if (!worst.length) $('worst').append(el('li', 'none', told.limits.length ? 'No limit of the owner’s was recorded as passed.' : whyEmpty('limits')));
  if (worst.length > 6) $('worst').append(el('li', 'none', `and ${worst.length - 6} more under Events`));
  const gaps = moments.filter(m => m.what === 'gap');
  if (gaps.length) {
    let sum = 0, reached = -Infinity;
    for (const m of gaps) { sum += Math.max(0, m.to - Math.max(m.from, reached)); reached = Math.max(reached, m.to); }
    const button = el('button', '', { type: 'button', 'data-moment': gaps[0].no - 1 },
      plate('unknown', gaps.length === 1 ? '1 span' : `${gaps.length} spans`, 'Not judged'),
      el('span', 'text', el('b', '', 'Some of it could not be judged'), el('span', '', `First at ${whenText(gaps[0].at)}: ${gaps[0].about}`)),
      el('span', 'value', el('b', '', lasted(sum)), el('span', '', 'no alert raised or cleared')));
    $('worst').append(el('li', '', button));
  }
  // What could not be told has its reason under Figures of the flight.
  const figures = told.figures.flight.filter(f => f.value !== null);
  $('sums').append(...figures.slice(0, 12).map(f => el('div', '', { title: f.rule }, el('dt', '', upper(f.name)), el('dd', '', el('b', '', figureText(f)), figureUnit(f) ? el('span', '', figureUnit(f)) : null))));
  if (!figures.length) $('sums').append(el('div', 'none', whyEmpty('figures') || 'None could be told; the reasons stand under Figures of the flight.'));
}
const isTime = f => f.unit === 's';
function figureText(f) {
  if (f.value === null) return 'none';
  const more = f.at_least ? '≥ ' : '';
  if (isTime(f) && f.value >= 60) return more + (f.value >= 3600 ? clockText(f.value) : `${Math.floor(Math.round(f.value) / 60)}:${two(Math.round(f.value) % 60)}`);
  return more + number(f.value, f.decimals);
}
const figureUnit = f => f.value === null ? '' : isTime(f) && f.value >= 3600 ? 'h:min:s' : isTime(f) && f.value >= 60 ? 'min:s' : f.unit;
// Film time where there is film, else session time.
const whenText = t => inFilm(t) ? `${clockText(filmTime(t))} film` : `${clockText(t)} session`;

function eventList() {
  const any = moments.some(m => inFilm(m.from));
  $('events-note').textContent = moments.length ? (any ? 'choose one: film, plots and track go there' : 'choose one: plots and track go there') : '';
  if (!moments.length) return $('eventlist').append(none(whyEmpty('events')));
  const rows = moments.map((m, i) => {
    const rest = m.facts.length - 3;
    const beside = momentsApart(moments).find(all => all.includes(m)).filter(o => o !== m && o.severity).map(o => o.no);
    const details = [m.severity && beside.length ? `same moment as ${beside.join(', ')}` : '', m.about, ...m.facts.slice(0, 3).map(factText), rest > 0 ? `${rest} more` : ''].filter(Boolean);
    const name = el('button', '', { type: 'button', 'data-moment': i }, m.name);
    return el('tr', '', { 'data-moment': i },
      el('td', 'no', m.no),
      el('td', 'grade', plate(m.severity, '', m.what === 'exceedance' ? m.word : m.severity ? (m.what === 'gap' ? 'Unknown' : sentence(m.severity)) : 'Event', 'small')),
      el('td', 'what', name, el('span', 'facts', details.join(' · '))),
      el('td', 'time', inFilm(m.from) ? clockText(filmTime(m.from)) : el('span', 'dim', 'no film')),
      el('td', 'time', utcText(m.from) || clockText(m.from)),
      el('td', 'num', m.lasted),
      el('td', 'num strong', m.value), el('td', 'num', m.limit.replace(/^limit /, '')), el('td', 'phase', sentence(m.phase)));
  });
  const head = ['No.', 'Severity', 'What was recorded', 'Film', zero === null ? 'Session' : 'UTC', 'Lasted', 'Peak', 'Limit', 'Phase'];
  const classes = ['no', 'grade', 'what', 'time', 'time', 'num', 'num', 'num', 'phase'];
  $('eventlist').append(el('table', 'events', el('thead', '', el('tr', '', ...head.map((h, i) => el('th', classes[i], h, { scope: 'col' })))), el('tbody', '', ...rows)));
}

// All that is known of a chosen event, under its row. A number that has its own moment leads there.
function eventDetail(m) {
  const fact = f => {
    const inside = [el('span', 'dim', upper(f.name)), el('b', '', `${number(f.value, f.decimals)}${f.unit ? ' ' + f.unit : ''}`)];
    return el('li', '', f.at_s === null ? el('span', 'fact', ...inside) : el('button', 'fact', ...inside, { type: 'button', 'data-at': f.at_s, title: `at ${whenText(f.at_s)}` }));
  };
  const lines = [['Session', `${clockText(m.from, 1)} to ${clockText(m.to, 1)}${m.exact ? `, ± ${number(m.exact, 2)} s` : ''}`], ['Rule', m.rule], ['Source', m.source]].filter(l => l[1]);
  return el('tr', 'detail', el('td', '', { colspan: '9' }, m.facts.length ? el('ul', 'factlist', ...m.facts.map(fact)) : null,
    el('p', '', ...lines.map(([name, text]) => el('span', '', el('b', '', `${name}: `), text)))));
}

function figureTables() {
  const phases = told.figures.by_phase;
  if (whyEmpty('phases')) $('byphase').append(none(whyEmpty('phases')));
  else if (phases.length) {
    // Channels with limits first, then those with marks; a wider table helps nobody, and a mean direction says nothing.
    const all = [...new Set(phases.flatMap(p => p.channels.map(c => c.channel)))].filter(name => { const c = channelOf(name); return c && c.kind === 'continuous' && !c.is_lamp; });
    const weight = name => (told.limits.some(l => channelOf(l.channel) === channelOf(name)) ? 2 : 0) + (channelOf(name).marks.length || channelOf(name).scale.length ? 1 : 0);
    const wanted = [...all].sort((a, b) => weight(b) - weight(a)).slice(0, 8);
    $('phases-note').append(all.length > 8 ? ` ${all.length - 8} channels more are in the document and its tables.` : '');
    const short = name => (channelOf(name) || { label: name }).label;
    const unitOf = name => { for (const p of phases) for (const c of p.channels) if (c.channel === name) return c.unit; return ''; };
    const headers = [['Phase', 'name'], ['Times', 'num'], ['Lasted', 'num'], ...wanted.map(w => [`${short(w)} ${unitOf(w)}`.trim(), 'num']), ['Decided by', 'rule']];
    const rows = phases.map(p => [el('b', '', sentence(p.phase)), String(p.times), lasted(p.seconds), ...wanted.map(w => {
      const c = p.channels.find(c => c.channel === w);
      if (!c) return el('span', 'dim', 'none');
      const d = (channelOf(w) || { decimals: 1 }).decimals;
      return el('span', 'spread', el('b', '', number(c.mean, d)), el('span', '', `${number(c.least, d)} to ${number(c.greatest, d)}`));
    }), p.rule]);
    $('byphase').append(table(headers, rows, 'wide'));
  } else {
    const rows = told.phases.map(p => [el('b', '', sentence(p.name)), clockText(p.from_s), lasted(p.to_s - p.from_s), `± ${number(p.plus_minus_s, 1)} s`, p.rule]);
    $('byphase').append(table([['Phase', 'name'], ['From', 'num'], ['Lasted', 'num'], ['Exact to', 'num'], ['Decided by', 'rule']], rows));
  }
  const all = told.figures.flight;
  $('sumstable').append(all.length ? table([['Figure', 'name'], ['Value', 'num'], ['Exact to', 'num'], ['Rule', 'rule']],
    all.map(f => [el('b', '', upper(f.name)), `${figureText(f)} ${figureUnit(f)}`.trim(), f.plus_minus === null ? '' : `± ${number(f.plus_minus, Math.max(f.decimals, 1))} ${f.unit}`, f.rule])) : none(whyEmpty('figures')));
  const limits = told.limits.map(l => {
    const alert = drawn.alerts[told.limits.indexOf(l)];
    const seconds = l.inside_s === null ? sumOf(alert) : { inside: l.inside_s, beyond: l.beyond_s, unknown: l.unknown_s };
    return [plate(l.severity, '', sentence(l.severity), 'small'), el('b', '', l.name), l.channel, l.rule, lasted(seconds.inside), lasted(seconds.beyond), lasted(seconds.unknown), l.source || el('span', 'dim', 'none named')];
  });
  $('limits').append(limits.length ? table([['Severity', 'grade'], ['Limit', 'name'], ['Channel', ''], ['Rule', 'rule'], ['Inside', 'num'], ['Beyond', 'num'], ['Not known', 'num'], ['Source', 'rule']], limits) : none(whyEmpty('limits')));
  earlierFlights();
}
// This flight beside those before it, where their documents were given.
function earlierFlights() {
  const history = told.history;
  if (!history) return;
  $('historycard').hidden = false;
  const count = history.flights.length;
  const days = [...new Set([0, count - 1].filter(i => i in history.flights).map(i => history.flights[i].first_utc.slice(0, 10)))];
  const when = days.length ? ` (${days.join(' to ')})` : '';
  $('history-note').textContent = clean(`${count} earlier ${count === 1 ? 'flight' : 'flights'} of this aircraft${when}, from their own documents. Totals count this flight too.`);
  $('history').append(table([['Total', 'name'], ['Sum', 'num'], ['Flights', 'num']],
    history.totals.map(t => [el('b', '', upper(t.name)), `${figureText(t)} ${figureUnit(t)}`.trim(), number(t.flights, 0)])));
  if (history.compared.length) {
    $('history').append(table([['In cruise', 'name'], ['This flight', 'num'], ['Before', 'num'], ['Of flights', 'num']],
      history.compared.map(c => [el('b', '', c.channel), `${number(c.now, 1)} ${c.unit}`.trim(), c.before === null ? el('span', 'dim', 'none comparable') : `${number(c.before, 1)} ${c.unit}`.trim(), number(c.flights, 0)])),
    el('p', 'note', history.rule));
  }
}
// Seconds in each state of a computed alert.
function sumOf(alert) {
  const sums = [0, 0, 0, 0];
  let at = from, state = 3;
  for (const [t, next] of [...alert.turns, [to, 0]]) {
    if (t > at) { sums[state] += Math.min(t, to) - at; at = Math.min(t, to); }
    state = next;
  }
  return { inside: sums[0] + sums[1], beyond: sums[2], unknown: sums[3] };
}

const svg = (tag, attributes, ...inside) => {
  const it = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (const [key, value] of Object.entries(attributes)) it.setAttribute(key, value);
  it.append(...inside);
  return it;
};

function clockTable() {
  const fits = told.clocks;
  if (!fits.length) return $('clocks').append(none('One clock alone: there is nothing to align.'));
  for (const fit of fits) {
    const head = el('p', 'fit', el('b', '', `${fit.film || fit.on} on ${fit.log}`), fit.offset_s === null ? ' nothing joins these clocks'
      : ` offset ${number(fit.offset_s, 3)} s, rate ${fit.rate.toFixed(6)}, sigma ${number(fit.sigma_s, 3)} s, ${number(fit.sigma_worst_s, 3)} s at worst`);
    const rows = fit.evidence.map(e => [e.kind, evidenceMark(e, fit), `${number(e.offset_s, 3)} ± ${number(e.sigma_s, 3)} s`, e.used ? 'used' : 'not used', e.why]);
    $('clocks').append(head, rows.length ? el('div', 'scroll', table([['Evidence', ''], ['Place', 'place'], ['Offset', 'num'], ['In the fit', ''], ['Why', 'rule']], rows)) : none('One clock on itself.'));
  }
}
// A piece of evidence on a line whose middle is the fit; beyond its ends an arrow.
function evidenceMark(e, fit) {
  const spread = Math.max(0.05, ...fit.evidence.filter(o => o.used).map(o => Math.abs(o.offset_s - fit.offset_s) + 2 * o.sigma_s), 3 * fit.sigma_s);
  const x = d => 60 + 54 * d / spread, d = e.offset_s - fit.offset_s, a = Math.max(4, x(d - e.sigma_s)), b = Math.min(116, x(d + e.sigma_s));
  const g = svg('svg', { viewBox: '0 0 120 16', class: `evidence${e.used ? '' : ' out'}`, 'aria-hidden': 'true' });
  g.append(svg('path', { d: 'M60 1V15', class: 'fit' }));
  if (a < b) g.append(svg('path', { d: `M${a} 8H${b}`, class: 'span' }));
  if (x(d) < 4 || x(d) > 116) g.append(svg('path', { d: x(d) < 4 ? 'M2 8l6-4v8z' : 'M118 8l-6-4v8z', class: 'dot' }));
  else g.append(svg('circle', { cx: x(d), cy: 8, r: 3.4, class: 'dot' }));
  return g;
}

function qualityTable() {
  $('quality-note').textContent = `Share of the ${lasted(told.flight.duration_s)} by state. The bar is the flight; a mark stands where it happened, drawn as in the plots.`;
  const row = q => {
    const c = channels.find(c => c.name === q.channel), usable = q.measured + q.derived + q.held;
    const rate = q.rate_hz === null ? '' : q.rate_hz >= 0.995 ? `${number(q.rate_hz, q.rate_hz < 9.95 && Math.abs(q.rate_hz - Math.round(q.rate_hz)) > 0.05 ? 1 : 0)} Hz` : `${number(1 / q.rate_hz, 1)} s`;
    return [c ? el('span', '', el('span', 'dim', q.channel.slice(0, q.channel.length - c.label.length)), c.label) : q.channel, c ? qualityBar(c) : '', rate, share(usable), share(q.held), share(q.stale), share(q.invalid)];
  };
  const write = list => el('div', 'scroll', table([['Channel', 'name'], ['The flight', 'place'], ['Pace', 'num'], ['Usable', 'num'], ['Held', 'num'], ['Stale', 'num'], ['No data', 'num']], list.map(row)));
  const computed = told.data_quality.filter(q => (channelOf(q.channel) || {}).derived);
  $('quality').append(write(told.data_quality.filter(q => !computed.includes(q))));
  if (computed.length) $('quality').append(folded(`Computed channels, ${computed.length}`, () => write(computed)));
}
const share = v => v === 0 ? '0' : v >= 0.9995 ? '100 %' : v > 0.999 ? '99.9 %' : v < 0.001 ? '< 0.1 %' : `${number(100 * v, 1)} %`;
// Stretches of a channel that are not fresh, in session time: held, stale, nothing.
function* stretches(c) {
  if (!c.fit || !c.times.length) { yield ['invalid', from, to]; return; }
  const at = t => back(c.fit, t), end = onto(c.fit, to), n = c.times.length;
  if (at(c.times[0]) > from) yield ['invalid', from, at(c.times[0])];
  const ages = function* (record, next) {
    const held = Math.min(next, record + c.held), stale = Math.min(next, record + c.stale);
    yield ['held', at(record), at(held)];
    if (stale > held) yield ['stale', at(held), at(stale)];
    if (next > stale) yield ['invalid', at(stale), at(next)];
  };
  for (const i of c.breaks) yield* ages(c.times[i], c.times[i + 1]);
  if (end > c.times[n - 1]) yield* ages(c.times[n - 1], end);
}
function qualityBar(c) {
  const g = svg('svg', { viewBox: '0 0 200 14', class: 'bar', preserveAspectRatio: 'none', 'aria-hidden': 'true' });
  const x = t => 200 * (t - from) / (to - from || 1);
  g.append(svg('path', { d: 'M0 7H200', class: c.derived ? 'derived' : 'measured' }));
  if (c.derived) g.append(svg('path', { d: 'M0 7H200', class: 'hole' }));
  let count = 0, reached = -1;
  for (const [state, a, b] of stretches(c)) {
    const left = x(a), width = Math.max(x(b) - left, state === 'held' ? 0 : 1.6);
    // Marks that would fall on one another are one.
    if (width <= 0.2 || left + width < reached || count++ > 400) continue;
    reached = left + width;
    if (state !== 'held') g.append(svg('rect', { x: left, y: 0, width, height: 14, class: 'clear' }));
    g.append(svg('rect', { x: left, y: state === 'invalid' ? 5 : 3, width, height: state === 'invalid' ? 4 : 8, class: state }));
  }
  return g;
}

function foot() {
  const order = { error: 0, warning: 1, note: 2 };
  const findings = [...told.findings].sort((a, b) => order[a.severity] - order[b.severity]);
  const base = path => path.split(/[\\/]/).pop();
  $('findings').append(findings.length ? table([['Grade', ''], ['File', 'name'], ['Row', 'num'], ['What was found', 'rule']],
    findings.slice(0, 200).map(f => [f.severity, base(f.file), f.row === null ? '' : String(f.row), f.column && !f.message.includes(f.column) ? `${f.column}: ${f.message}` : f.message])) : none('Nothing odd was found.'));
  if (findings.length > 200) $('findings').append(none(`and ${findings.length - 200} more in the document`));
  const { files, program, version, made_utc } = told.provenance;
  const grouped = n => String(n).replace(/\B(?=(\d{3})+$)/g, '\u202f');
  $('provenance').append(table([['File', 'name'], ['Role', ''], ['Bytes', 'num'], ['SHA-256', 'hash']],
    [...files, ...(told.comparison ? told.comparison.other.files.map(f => ({ ...f, role: `${f.role} of the other flight` })) : [])].map(f => [base(f.file), f.role, f.bytes === null ? 'none' : grouped(f.bytes), f.sha256 === null ? 'could not be read' : el('code', '', f.sha256)])),
  el('p', 'note', `${program} ${version}, written ${made_utc.replace('T', ' ').replace('Z', ' UTC')}. ${exactness()}`));
  $('cautions').append(...told.flight.cautions.map(c => el('li', '', c)));
  if (drawn.without_location) $('cautions').append(el('li', '', 'Positions were left out on request; this file does not hold them.'));
}
function exactness() {
  const rounded = drawn.channels.some(c => !c.values.exact);
  const all = 'Every recorded number is here as it was read, bit for bit; drawings are thinned, values are not.';
  return rounded ? `${all} Computed channels are kept to the millionth of their unit.` : all;
}

function key() {
  const line = path => svg('svg', { viewBox: '0 0 44 16', 'aria-hidden': 'true' }, ...path.map(([d, c]) => svg('path', { d, class: c })));
  const wave = 'M2 10C10 3 14 3 22 8S36 13 42 6';
  const rows = [
    [line([[wave, 'measured']]), 'Measured: a plain line'],
    [line([[wave, 'derived'], [wave, 'hole']]), 'Calc: computed from other channels, a pierced line'],
    [line([['M2 8H42', 'held']]), 'Held over a gap short enough to bridge: planks'],
    [line([['M2 8H42', 'stale'], ['M2 8H42', 'stalehole']]), 'Stale, too old to be a value: hollow dashes'],
    [line([['M8 1H36V15H8Z', 'band'], ['M8 4V8M13 4V8M18 4V8M23 4V8M28 4V8M33 4V8', 'teeth']]), 'No data: a pale band, and no line across'],
    [line([['M8 1V15', 'green'], ['M20 2V5M20 7V10M20 12V15', 'amber'], ['M30 8H42M32 4V12', 'red']]), 'Owner’s marks: band normal, blocks precaution, T limit'],
    [plate('warning', '', 'Warning', 'small'), 'Octagon: a warning limit'],
    [plate('caution', '', 'Caution', 'small'), 'Pointed plate: a caution limit'],
    [plate('advisory', '', 'Advisory', 'small'), 'Pill: to be known'],
    [plate('unknown', '', 'Unknown', 'small'), 'Dashed: the data could not tell'],
    [line([['M22 1V4M22 12V15', 'hair'], ['M22 5a3 3 0 1 0 .01 0', 'hinge']]), 'Hinge pin: the scale changes its step'],
  ];
  $('key').append(...rows.map(([mark, text]) => el('li', '', el('span', 'mark', mark), text)));
}
