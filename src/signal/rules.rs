//! When a value is measured, held, stale or invalid.

/// The ages that separate the states of one channel, in seconds.
///
/// Default rule (common practice, no source), from the channel's usual sampling interval `dt` (the median step):
/// neighbours up to 1.5 dt apart are joined by interpolation; across a longer gap the last value is *held* up to
/// max(3 dt, 1 s), then *stale* up to max(10 dt, 30 s), then *invalid*.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StateRules {
    /// Two records at most this far apart are neighbours.
    pub joined_s: f64,
    /// Age up to which the last record is held across a gap.
    pub held_s: f64,
    /// Age up to which the reading is stale rather than invalid.
    pub stale_s: f64,
}

impl StateRules {
    /// The default rule for a channel that is usually sampled every `interval_s` seconds.
    pub fn for_interval(interval_s: f64) -> Self {
        Self { joined_s: 1.5 * interval_s, held_s: (3.0 * interval_s).max(1.0), stale_s: (10.0 * interval_s).max(30.0) }
    }
}
