//! Clocks of transport streams that jump: after a cut, a join or a restart the times go on from where they were.

use super::ff;
use crate::finding::{Finding, Severity};
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::collections::HashMap;

/// A step back by more than this, or ahead by more than [`FARTHEST_AHEAD_S`], is a jump of the clock and not the film's own
/// unevenness. The ffmpeg tool draws the same lines.
const FARTHEST_BACK_S: f64 = 0.1;
const FARTHEST_AHEAD_S: f64 = 10.0;

/// Follows the clock of a container whose times may jump.
#[derive(Debug, Default)]
pub(super) struct Jumps {
    /// Where each stream's next packet is expected, in seconds of its own stamps.
    expected: HashMap<usize, f64>,
    /// Added to all stamps, in seconds.
    offset_s: f64,
    found: Vec<(f64, f64)>,
}

impl Jumps {
    /// One for an open demuxer; none where the container's times cannot jump.
    ///
    /// # Safety
    /// The context must be alive and open for reading.
    pub(super) unsafe fn of(context: *const ffi::AVFormatContext) -> Option<Self> {
        // SAFETY: by contract; a plain field is read.
        let flags = unsafe { (*(*context).iformat).flags };
        (flags & ffi::AVFMT_TS_DISCONT != 0).then(Self::default)
    }

    /// Forgets where it stood, after a seek.
    pub(super) fn restart(&mut self) {
        self.expected.clear();
    }

    /// Moves a packet's times on.
    pub(super) fn follow(&mut self, packet: &mut ffmpeg_next::Packet, base: Rational) {
        let Some(dts) = packet.dts().or(packet.pts()) else { return };
        let at_s = base.seconds(dts);
        if let Some(&expected_s) = self.expected.get(&packet.stream()) {
            let ahead_s = at_s - expected_s;
            if !(-FARTHEST_BACK_S..=FARTHEST_AHEAD_S).contains(&ahead_s) {
                self.offset_s -= ahead_s;
                self.found.push((expected_s + self.offset_s + ahead_s, ahead_s));
                // The other streams jump with this one.
                self.expected.values_mut().for_each(|expected| *expected += ahead_s);
            }
        }
        let length_s = base.seconds(packet.duration().max(0));
        let expected = self.expected.entry(packet.stream()).or_insert(at_s);
        *expected = at_s.max(*expected).max(at_s + length_s);
        if self.offset_s != 0.0 {
            let shift = (self.offset_s / base.as_f64()).round() as i64;
            packet.set_pts(packet.pts().map(|t| t + shift));
            packet.set_dts(packet.dts().map(|t| t + shift));
        }
    }

    /// What is to be said of them.
    pub(super) fn findings(&self) -> impl Iterator<Item = Finding> {
        self.found.iter().map(|&(at_s, ahead_s)| {
            let (way, by_s) = if ahead_s < 0.0 { ("back", -ahead_s) } else { ("ahead", ahead_s) };
            let text = format!(
                "the clip's clock jumps {way} by {by_s:.3} s at {at_s:.3} s of its stamps; what follows is taken to follow on at once"
            );
            Finding::new(Severity::Warning, "clock_jumps", text)
        })
    }
}

/// The time base of a packet's stream.
///
/// # Safety
/// The context must be alive and have this stream.
pub(super) unsafe fn base_of(context: *const ffi::AVFormatContext, stream: usize) -> Rational {
    // SAFETY: by contract; a plain field is read.
    ff::rational(unsafe { (**(*context).streams.add(stream)).time_base })
}
