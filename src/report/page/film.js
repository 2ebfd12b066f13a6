// The annotated films beside the plots. The one on the screen leads while it plays, and follows the cursor while it does not.
const SPEEDS = [1, 2, 5, 10, 30];
// Half a millisecond of rounding is no time outside a film.
const EDGE_S = 0.0005;
const shownBy = shownFilms.map((it, i) => {
  const { fit } = told.flight.films[it.camera];
  return {
    ...it, index: i,
    own: t => back(fit, t) - it.from_s,
    session: own => onto(fit, own + it.from_s),
    // Whether one of its frames is that of this moment.
    covers(t) { const own = this.own(t); return !this.failed && own >= -EDGE_S && (this.duration_s === null || own < this.duration_s); },
  };
});
const screen = {
  speed: 1, playing: false, wanted: null, now: shownBy[0] || null, loading: false,
  make() {
    if (!this.now) $('screen').remove();
    else {
      this.video = el('video', '', { playsinline: '', preload: 'auto', disablepictureinpicture: '', 'aria-label': 'Annotated film' });
      this.cover = el('p', 'nofilm');
      $('screen').append(this.video, this.cover);
      this.list();
      this.video.addEventListener('error', () => { this.now.failed = true; this.pick(); this.move(true); });
      this.video.addEventListener('loadedmetadata', () => { if (this.now.duration_s === null) this.now.duration_s = this.video.duration; this.loading = false; this.move(true); });
      this.video.addEventListener('seeked', () => { const wanted = this.wanted; this.wanted = null; if (wanted !== null && Math.abs(this.video.currentTime - wanted) > 0.002) this.seek(wanted); });
      this.video.addEventListener('play', () => { if (!this.playing) this.play(true); });
      this.video.addEventListener('pause', () => { if (this.playing && !this.video.ended && this.leads() && !this.video.seeking) this.play(false); });
      if (this.video.requestVideoFrameCallback) {
        const shown = (now, frame) => {
          if (this.playing && this.leads()) setCursor(this.now.session(frame.mediaTime), 'film');
          this.video.requestVideoFrameCallback(shown);
        };
        this.video.requestVideoFrameCallback(shown);
      }
      this.load(this.now);
    }
    for (const id of ['sound', 'full']) $(id).hidden = !this.video;
    if (this.video) {
      this.video.addEventListener('click', () => this.play(!this.playing));
      this.video.addEventListener('dblclick', () => this.video.requestFullscreen());
      $('full').addEventListener('click', () => this.video.requestFullscreen());
      $('sound').addEventListener('click', () => {
        this.video.muted = !this.video.muted;
        $('sound').setAttribute('aria-pressed', String(!this.video.muted));
      });
    }
    $('play').addEventListener('click', () => this.play(!this.playing));
    $('speed').addEventListener('click', () => {
      this.speed = SPEEDS[(SPEEDS.indexOf(this.speed) + 1) % SPEEDS.length];
      $('speedtext').textContent = `${this.speed} ×`;
      if (this.video) this.video.playbackRate = Math.min(16, this.speed);
    });
  },
  // One button a film, with the stretch that it covers; a film that is all of its camera's and the only one says nothing.
  list() {
    const whole = this.now.from_s === 0 && shownBy.length === 1;
    $('films').hidden = whole;
    if (whole) return;
    const several = told.flight.films.length > 1;
    this.buttons = shownBy.map(it => {
      const { name } = told.flight.films[it.camera], span = `${clockText(it.from_s, 1)}${it.duration_s === null ? '' : ` to ${clockText(it.from_s + it.duration_s, 1)}`}`;
      const button = el('button', '', { type: 'button' }, el('b', '', it.name), el('span', '', several ? `${name}, ${span}` : span));
      button.addEventListener('click', () => { if (!it.covers(cursor)) setCursor(it.session(0)); this.load(it); this.move(true); });
      return el('li', '', button);
    });
    $('films').append(...this.buttons);
  },
  load(it) {
    if (this.now === it && this.video.src) return;
    this.now = it;
    this.loading = true; this.wanted = null;
    this.video.src = it.address;
    (this.buttons || []).forEach((li, i) => { if (i === it.index) li.firstChild.setAttribute('aria-current', 'true'); else li.firstChild.removeAttribute('aria-current'); });
  },
  // A film that shows the cursor's moment: the one on the screen, if it does; else of the same camera, if there is one.
  pick() {
    if (this.now.covers(cursor)) return true;
    const there = shownBy.filter(it => it.covers(cursor)), it = there.find(it => it.camera === this.now.camera) || there[0];
    if (it) this.load(it);
    return !!it;
  },
  // Whether the film's own clock moves the cursor: it has frames here, and runs as fast as asked.
  leads() { return this.video && !this.loading && this.speed <= 16 && this.now.covers(cursor); },
  // A thousandth into the frame, so that rounding does not show the one before it.
  target(t) { return Math.max(0, this.now.own(t)) + 0.001; },
  // One seek at a time; of those asked for meanwhile only the last counts.
  seek(time) {
    if (this.video.seeking) this.wanted = time;
    else this.video.currentTime = time;
  },
  move(force, source) {
    if (!this.video) return;
    const there = this.pick();
    this.cover.hidden = there;
    if (!there) this.cover.textContent = this.nowhere();
    this.video.classList.toggle('away', !there);
    if (there && !this.loading && source !== 'film' && this.video.readyState > 0 && (force || Math.abs(this.video.currentTime - this.target(cursor)) > 0.0005)) this.seek(this.target(cursor));
  },
  // Why there is no picture.
  nowhere() {
    const bad = shownBy.find(it => it.failed);
    if (bad && shownBy.every(it => it.failed || !it.covers(cursor))) return `The film ${decodeURIComponent(bad.address)} cannot be shown here: it is not beside this page, or this browser does not know its codec.`;
    const away = it => { const own = it.own(cursor); return own < 0 ? -own : Math.max(0, own - (it.duration_s ?? 0)); };
    const near = shownBy.reduce((a, b) => away(b) < away(a) ? b : a), begins = near.own(cursor) < 0;
    return shownBy.length === 1 && near.from_s === 0 ? 'No film at this time' : `No film at this time. The nearest, ${near.name}, ${begins ? 'begins in' : 'ended'} ${lasted(away(near))}${begins ? '' : ' ago'}`;
  },
  play(on) {
    this.playing = on;
    $('play').setAttribute('aria-pressed', String(on));
    $('play').classList.toggle('playing', on);
    $('play').querySelector('.unseen').textContent = on ? 'Pause' : 'Play';
    if (on && cursor >= to) setCursor(from);
    if (!on) { if (this.video) this.video.pause(); return; }
    let before = null;
    const tick = now => {
      if (!this.playing) return;
      if (this.leads()) {
        before = null;
        // A film that has ended would begin anew: time goes on beyond it, in another film or in none.
        if (this.video.ended) setCursor(Math.max(cursor, this.now.session((this.now.duration_s ?? this.video.duration) + 0.001)));
        else if (this.video.paused && !this.video.seeking) { this.video.playbackRate = Math.min(16, this.speed); const started = this.video.play(); if (started) started.catch(() => {}); }
        if (!this.video.requestVideoFrameCallback && !this.video.seeking && this.leads()) setCursor(this.now.session(this.video.currentTime), 'film');
      } else {
        if (this.video && !this.video.paused) this.video.pause();
        if (before !== null) setCursor(Math.min(to, cursor + Math.min(0.25, (now - before) / 1000) * this.speed));
        before = now;
      }
      if (cursor >= to) { this.play(false); return; }
      requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  },
};
