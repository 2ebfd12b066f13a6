//! Channels for this room's own tests.

use super::{Channel, Kind, Origin, Samples, StateRules};

/// A channel without a unit that is usually sampled once a second.
pub(super) fn channel(kind: Kind, times: &[f64], values: &[f64]) -> Channel {
    Channel {
        name: "x".into(),
        unit: None,
        kind,
        times: times.into(),
        samples: Samples::Numbers(values.to_vec()),
        missing: 0,
        breaks: Vec::new(),
        rules: StateRules::for_interval(1.0),
        origin: Origin::Recorded,
    }
}
