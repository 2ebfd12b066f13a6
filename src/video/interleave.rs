//! The order in which a film's packets go into its file: every packet of sound before the pictures that it belongs to.

use super::VideoError;
use super::mux::Muxer;
use ffmpeg_next::{Packet, ffi};
use std::collections::{HashSet, VecDeque};

/// Bytes of sound, or of film, that may wait for the other. Beyond them packets are written in the order they came.
const WAITING_BYTES: usize = 64 << 20;

/// How much of the film waits for the first packet of every track of sound, in seconds (the interleaving of common muxers stays
/// below one).
const HEARD_WITHIN_S: f64 = 2.0;

/// Writes packets in the order of their times.
pub(super) struct Interleaver {
    pub(super) muxer: Muxer,
    film_track: usize,
    film_base: ffi::AVRational,
    /// Sound and subtitles that wait for their picture.
    sound: Waiting,
    /// Pictures at the film's start: a container without negative times is moved by the time of the first packet that it gets, so
    /// that sound from before the first picture may not come after it.
    film: Waiting,
    /// Tracks of sound of which nothing came yet.
    silent: HashSet<usize>,
    refused_sound: u64,
}

#[derive(Default)]
struct Waiting {
    packets: VecDeque<Packet>,
    bytes: usize,
}

impl Waiting {
    fn push(&mut self, packet: Packet) {
        self.bytes += packet.size();
        self.packets.push_back(packet);
    }

    fn pop(&mut self) -> Option<Packet> {
        let packet = self.packets.pop_front()?;
        self.bytes -= packet.size();
        Some(packet)
    }
}

impl Interleaver {
    /// For a file whose header is written. Film packets come in ticks of `film_base`; the tracks of `sounding` are sound.
    pub(super) fn new(
        muxer: Muxer,
        film_track: usize,
        film_base: ffi::AVRational,
        sounding: impl Iterator<Item = usize>,
    ) -> Self {
        Self {
            muxer,
            film_track,
            film_base,
            sound: Waiting::default(),
            film: Waiting::default(),
            silent: sounding.collect(),
            refused_sound: 0,
        }
    }

    /// Takes a packet of sound or subtitles with times in `base`.
    pub(super) fn sound(&mut self, mut packet: Packet, base: ffi::AVRational, track: usize) -> Result<(), VideoError> {
        packet.rescale_ts(base, self.muxer.time_base(track));
        packet.set_stream(track);
        self.sound.push(packet);
        self.silent.remove(&track);
        while self.sound.bytes > WAITING_BYTES {
            self.write_one_sound()?;
        }
        Ok(())
    }

    /// Takes a packet of the film.
    pub(super) fn film(&mut self, mut packet: Packet) -> Result<(), VideoError> {
        packet.rescale_ts(self.film_base, self.muxer.time_base(self.film_track));
        self.film.push(packet);
        if self.silent.is_empty() || self.film.bytes > WAITING_BYTES || self.film_waits_s() > HEARD_WITHIN_S {
            self.silent.clear();
            self.write_film()?;
        }
        Ok(())
    }

    /// Leaves out what sounds after `end`, in ticks of the film's base.
    pub(super) fn cut(&mut self, end: i64) {
        let (muxer, base) = (&self.muxer, self.film_base);
        self.sound.packets.retain(|packet| {
            let Some(pts) = packet.pts().or(packet.dts()) else { return true };
            // SAFETY: pure arithmetic; both time bases are valid.
            unsafe { ffi::av_compare_ts(pts, muxer.time_base(packet.stream()), end, base) < 0 }
        });
        self.sound.bytes = self.sound.packets.iter().map(Packet::size).sum();
    }

    /// Writes what waits and ends the file. Returns the number of packets of sound that could not be written.
    pub(super) fn finish(mut self) -> Result<u64, VideoError> {
        self.write_film()?;
        while !self.sound.packets.is_empty() {
            self.write_one_sound()?;
        }
        self.muxer.finish()?;
        Ok(self.refused_sound)
    }

    /// Seconds between the first and the last packet of the film that wait.
    fn film_waits_s(&self) -> f64 {
        let ends = self.film.packets.front().zip(self.film.packets.back());
        let ticks = ends.and_then(|(first, last)| Some(last.dts()? - first.dts()?)).unwrap_or(0);
        let base = self.muxer.time_base(self.film_track);
        ticks as f64 * f64::from(base.num) / f64::from(base.den)
    }

    /// Writes the film's packets that wait, each after the sound that belongs before it.
    fn write_film(&mut self) -> Result<(), VideoError> {
        while let Some(mut packet) = self.film.pop() {
            while self.sound_is_due(packet.dts().unwrap_or(i64::MAX)) {
                self.write_one_sound()?;
            }
            self.muxer.write(&mut packet, self.film_track)?;
        }
        Ok(())
    }

    /// Whether the sound that waits longest belongs before a film packet of this time.
    fn sound_is_due(&self, film_dts: i64) -> bool {
        let Some(packet) = self.sound.packets.front() else { return false };
        let Some(dts) = packet.dts().or(packet.pts()) else { return true };
        let [base, film_base] = [packet.stream(), self.film_track].map(|track| self.muxer.time_base(track));
        // SAFETY: pure arithmetic; both time bases come from the muxer and are valid.
        unsafe { ffi::av_compare_ts(dts, base, film_dts, film_base) <= 0 }
    }

    fn write_one_sound(&mut self) -> Result<(), VideoError> {
        let Some(mut packet) = self.sound.pop() else { return Ok(()) };
        let track = packet.stream();
        match self.muxer.write(&mut packet, track) {
            // The muxer's word for a time that does not follow the one before.
            Err(VideoError::Write { said, .. }) if said.contains("Invalid argument") => self.refused_sound += 1,
            other => return other,
        }
        Ok(())
    }
}
