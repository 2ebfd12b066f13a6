// The annotated film beside the plots. It leads while it plays, and follows the cursor while it does not.
const SPEEDS = [1, 2, 5, 10, 30];
const screen = {
  speed: 1, playing: false, wanted: null,
  make() {
    if (!filmAddress || !film) {
      if (filmAddress) $('screen').append(el('p', 'nofilm', 'Nothing joins the film to the logs: it cannot follow the cursor.'));
      else $('screen').remove();
    }
    if (filmAddress && film) {
      this.video = el('video', '', { playsinline: '', preload: 'auto', disablepictureinpicture: '', 'aria-label': 'Annotated film' });
      this.cover = el('p', 'nofilm', 'No film at this time');
      this.video.src = filmAddress;
      $('screen').append(this.video, this.cover);
      this.video.addEventListener('error', () => { this.failed = true; this.cover.textContent = `The film ${decodeURIComponent(filmAddress)} cannot be shown here: it is not beside this page, or this browser does not know its codec.`; this.move(true); });
      this.video.addEventListener('loadedmetadata', () => { if (film.duration_s === null) film.duration_s = this.video.duration; this.move(true); });
      this.video.addEventListener('seeked', () => { const wanted = this.wanted; this.wanted = null; if (wanted !== null && Math.abs(this.video.currentTime - wanted) > 0.002) this.seek(wanted); });
      this.video.addEventListener('play', () => { if (!this.playing) this.play(true); });
      this.video.addEventListener('pause', () => { if (this.playing && !this.video.ended && inFilm(cursor) && !this.video.seeking) this.play(false); });
      if (this.video.requestVideoFrameCallback) {
        const shown = (now, frame) => {
          if (this.playing && this.leads()) setCursor(onto(film.fit, frame.mediaTime), 'film');
          this.video.requestVideoFrameCallback(shown);
        };
        this.video.requestVideoFrameCallback(shown);
      }
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
  // Whether the film's own clock moves the cursor: it has frames here, and runs as fast as asked.
  leads() { return this.video && !this.failed && this.speed <= 16 && inFilm(cursor); },
  // A thousandth into the frame, so that rounding does not show the one before it.
  target(t) { return Math.max(0, filmTime(t)) + 0.001; },
  // One seek at a time; of those asked for meanwhile only the last counts.
  seek(time) {
    if (this.video.seeking) this.wanted = time;
    else this.video.currentTime = time;
  },
  move(force, source) {
    if (!this.video) return;
    const there = inFilm(cursor) && !this.failed;
    this.cover.hidden = there;
    this.video.classList.toggle('away', !there);
    if (there && source !== 'film' && this.video.readyState > 0 && (force || Math.abs(this.video.currentTime - this.target(cursor)) > 0.0005)) this.seek(this.target(cursor));
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
        if (this.video.paused && !this.video.seeking) { this.video.playbackRate = Math.min(16, this.speed); const started = this.video.play(); if (started) started.catch(() => {}); }
        if (!this.video.requestVideoFrameCallback && !this.video.seeking) setCursor(onto(film.fit, this.video.currentTime), 'film');
        if (this.video.ended) setCursor(Math.min(to, cursor + 0.1), 'film');
      } else {
        if (this.video && !this.video.paused) this.video.pause();
        if (before !== null) setCursor(Math.min(to, cursor + Math.min(0.25, (now - before) / 1000) * this.speed));
        before = now;
        if (cursor >= to) { this.play(false); return; }
      }
      requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  },
};
