//! What the lamps and the computed alerts show at a moment.

use crate::judge::{AlertState, Judged, LampState, Recorded};
use crate::panel::{Panel, Severity};

/// What the lamps of one subject show together.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum LampShown {
    /// No log recorded any of them: nothing is drawn.
    #[default]
    NotRecorded,
    /// None is lit.
    Unlit,
    /// This lamp of the panel is lit.
    Lit(usize),
    /// Exactly one should be lit, and that is not so.
    Disagree,
    /// The last record is too old to count.
    Stale {
        /// Its age in seconds.
        age_s: f64,
    },
    /// There is nothing.
    Invalid,
}

/// What one `[[lamp]]` of the panel file says, for the ledger and for holding an alert against it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LampWord {
    /// Unlit.
    Off,
    /// Lit.
    On,
    /// Lit, and the lamp means a change from one state to another.
    InTransit,
    /// The lamps of its subject contradict each other.
    Disagree,
    /// Stale or invalid.
    Unknown,
    /// No log recorded it.
    #[default]
    NotRecorded,
}

impl LampWord {
    /// The word in the ledger.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::On => "on",
            Self::InTransit => "in_transit",
            Self::Disagree => "disagree",
            Self::Unknown => "unknown",
            Self::NotRecorded => "not_recorded",
        }
    }

    /// Whether it is lit; none where that is not known.
    pub const fn lit(self) -> Option<bool> {
        match self {
            Self::Off => Some(false),
            Self::On | Self::InTransit => Some(true),
            Self::Disagree | Self::Unknown | Self::NotRecorded => None,
        }
    }
}

/// What a computed alert shows.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum AlertShown {
    /// The limit is not passed.
    Off,
    /// Not armed yet, or passed for less than its minimum time.
    Waiting,
    /// The limit is passed.
    On,
    /// Its input is stale, invalid or not there.
    #[default]
    Unknown,
    /// The same, and it was on when the input ended.
    Lost {
        /// Age of the last record in seconds.
        age_s: f64,
    },
}

impl AlertShown {
    /// The word in the ledger.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off | Self::Waiting => "off",
            Self::On => "on",
            Self::Unknown | Self::Lost { .. } => "unknown",
        }
    }
}

/// Every lamp and alert at a session time, in seconds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LampsState {
    /// One a subject, in the order of [`Panel::lamp_groups`].
    pub groups: Vec<LampShown>,
    /// One a lamp, in the panel's order.
    pub recorded: Vec<LampWord>,
    /// One a limit, in the panel's order.
    pub alerts: Vec<AlertShown>,
}

impl LampsState {
    /// Looks them up.
    pub(super) fn at(judged: &Judged, panel: &Panel, time_s: f64) -> Self {
        let mut recorded: Vec<LampWord> = judged
            .recorded
            .iter()
            .zip(&panel.lamps)
            .map(|(line, lamp)| match line.as_ref().map(|line| line.at(time_s)) {
                None => LampWord::NotRecorded,
                Some(Recorded::Unlit) => LampWord::Off,
                Some(Recorded::Lit) => lit(lamp.severity),
                Some(Recorded::Stale { .. } | Recorded::Invalid) => LampWord::Unknown,
            })
            .collect();
        let mut groups = Vec::with_capacity(judged.groups.len());
        for group in &judged.groups {
            let Some(&first) = group.members.first() else {
                groups.push(LampShown::NotRecorded);
                continue;
            };
            let state = group.shown.at(time_s);
            groups.push(match state {
                LampState::Unlit => LampShown::Unlit,
                LampState::Lit(i) => LampShown::Lit(i),
                LampState::Disagree => LampShown::Disagree,
                LampState::Stale { last_s } => LampShown::Stale { age_s: time_s - last_s },
                LampState::Invalid => LampShown::Invalid,
            });
            // Of lamps that bear on each other the ledger says what was shown, not what each recorded in passing.
            if !panel.lamps.get(first).is_some_and(|lamp| lamp.always_one) {
                continue;
            }
            for &i in &group.members {
                if let (Some(word), Some(lamp)) = (recorded.get_mut(i), panel.lamps.get(i)) {
                    *word = match state {
                        LampState::Lit(shown) if shown == i => lit(lamp.severity),
                        LampState::Lit(_) | LampState::Unlit => LampWord::Off,
                        LampState::Disagree => LampWord::Disagree,
                        LampState::Stale { .. } | LampState::Invalid => LampWord::Unknown,
                    };
                }
            }
        }
        let alerts = judged.alerts.iter().map(|line| match line.at(time_s) {
            AlertState::Off => AlertShown::Off,
            AlertState::Waiting => AlertShown::Waiting,
            AlertState::On => AlertShown::On,
            AlertState::Unknown => AlertShown::Unknown,
            AlertState::Lost { last_s } => AlertShown::Lost { age_s: time_s - last_s },
        });
        Self { groups, alerts: alerts.collect(), recorded }
    }
}

fn lit(severity: Severity) -> LampWord {
    if severity == Severity::InTransit { LampWord::InTransit } else { LampWord::On }
}
