//! Where the time of a film went.

use std::time::Duration;

/// Time that each stage worked, and how long the whole took. Stages run side by side, each waits for its neighbours.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Timing {
    /// Reading and decoding.
    pub decode: Duration,
    /// Copying frames that the decoder still holds.
    pub copy: Duration,
    /// Reading out, drawing and laying over.
    pub draw: Duration,
    /// Encoding and writing.
    pub encode: Duration,
    /// From the first frame to the last.
    pub whole: Duration,
}

impl Timing {
    /// Stages by name.
    pub fn stages(&self) -> [(&'static str, Duration); 4] {
        [("decode", self.decode), ("copy", self.copy), ("draw", self.draw), ("encode", self.encode)]
    }

    /// The stage for which the others wait: copying and drawing share a thread.
    pub fn bottleneck(&self) -> &'static str {
        let threads = [("decode", self.decode), ("draw", self.copy + self.draw), ("encode", self.encode)];
        threads.into_iter().max_by_key(|(_, time)| *time).map_or("encode", |(name, _)| name)
    }
}
