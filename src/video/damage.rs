//! What is wrong with a clip on the way through it: counted, and said with its times.

use crate::finding::{Finding, Severity};

/// Times of one kind of damage that are said; the rest is counted.
const SAID: usize = 5;

/// How far before its promised end a clip may stop: containers round, and tracks are not equally long.
const SHORTFALL_S: f64 = 0.5;

/// Damage of a clip.
#[derive(Debug, Default)]
pub(super) struct Damage {
    /// Packets that could not be used, and how far the film was, in seconds of its own stamps.
    packets: Times,
    /// Frames that the decoder marked as patched, or complained at, and how many of either.
    frames: Times,
    complaints: u64,
    without_time: u64,
    repeated: u64,
    /// Where the last packet of any stream ends, and where the container says that the last one does, in seconds.
    end_s: f64,
    promised_s: Option<f64>,
    ended: bool,
}

#[derive(Debug, Default)]
struct Times {
    count: u64,
    first_s: Vec<f64>,
}

impl Times {
    fn add(&mut self, at_s: f64) {
        self.count += 1;
        self.at(at_s);
    }

    fn at(&mut self, at_s: f64) {
        // One place is named once, however many packets it cost.
        if self.first_s.len() < SAID && self.first_s.last().is_none_or(|last| at_s - last > 0.1) {
            self.first_s.push(at_s);
        }
    }

    fn said(&self, start_s: f64) -> String {
        let times: Vec<_> = self.first_s.iter().map(|t| format!("{:.2}", (t - start_s).max(0.0))).collect();
        let more = if self.first_s.len() == SAID { " s and later" } else { " s" };
        format!("film time {}{more}", times.join(", "))
    }
}

impl Damage {
    /// For a clip whose container promises packets up to this moment.
    pub(super) fn new(promised_s: Option<f64>) -> Self {
        Self { promised_s, end_s: f64::NEG_INFINITY, ..Self::default() }
    }

    /// Forgets what was found: reading begins anew elsewhere.
    pub(super) fn restart(&mut self) {
        *self = Self::new(self.promised_s);
    }

    pub(super) fn packet(&mut self, at_s: f64) {
        self.packets.add(at_s);
    }

    pub(super) fn frame(&mut self, at_s: f64) {
        self.frames.add(at_s);
    }

    /// The decoder complained so often while the film was about here.
    pub(super) fn complaints(&mut self, times: u64, at_s: f64) {
        if times > 0 {
            self.complaints += times;
            self.frames.at(at_s);
        }
    }

    pub(super) fn without_time(&mut self) {
        self.without_time += 1;
    }

    pub(super) fn repeated(&mut self) {
        self.repeated += 1;
    }

    /// A packet of any stream was read up to here.
    pub(super) fn reached(&mut self, end_s: f64) {
        self.end_s = self.end_s.max(end_s);
    }

    /// Where the last packet ends that was read, in seconds.
    pub(super) fn reached_s(&self) -> f64 {
        self.end_s
    }

    /// The clip was read to its end.
    pub(super) fn ended(&mut self) {
        self.ended = true;
    }

    /// All of it in words. `start_s` is the film's first frame, `film_end_s` the end of its last one, and `rate` its frames a second.
    pub(super) fn findings(&self, start_s: f64, film_end_s: f64, rate: f64) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut say = |code, text: String| findings.push(Finding::new(Severity::Warning, code, text));
        if self.packets.count > 0 {
            let (count, at) = (self.packets.count, self.packets.said(start_s));
            say("packets_damaged", format!("{count} packets are damaged at {at}; frames may be missing or torn there"));
        }
        if self.frames.count + self.complaints > 0 {
            let (marked, complaints, at) = (self.frames.count, self.complaints, self.frames.said(start_s));
            let text = format!(
                "frames are damaged and were patched by the decoder about {at}: it complained {complaints} times and marked {marked}"
            );
            say("frames_damaged", text);
        }
        if self.without_time > 0 {
            say("frames_without_time", format!("{} frames carry no time and were left out", self.without_time));
        }
        if self.repeated > 0 {
            let text = format!("{} frames do not come after the one before and were left out", self.repeated);
            say("frames_repeat_time", text);
        }
        if let Some(promised_s) = self.promised_s.filter(|p| self.ended && p - self.end_s > SHORTFALL_S) {
            let lost_s = promised_s - film_end_s;
            let text = format!(
                "the clip ends at film time {:.2} s, {lost_s:.2} s (about {:.0} frames) before what its container promises: the rest \
                 was cut off",
                film_end_s - start_s,
                lost_s * rate
            );
            say("clip_ends_early", text);
        }
        findings
    }
}
