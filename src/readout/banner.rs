//! What the banner says: at most two of the owner's limits that are passed, the worst first, each with its value and its time.

use super::words::{lasted, number, old};
use super::{AlertShown, Hand, HandSource};
use crate::judge::{Judged, Passed, passed_since};
use crate::panel::{Limit, Panel, Severity};
use crate::session::{ChannelId, Session};
use crate::signal::{Reading, State};
use crate::time::SessionTime;

/// One line of the banner, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BannerLine {
    /// How grave the passed limit is.
    pub severity: Severity,
    /// Whether the limit is known to be passed now. If not, it was when its data ended: the line is stale and has no number.
    pub now: bool,
    /// Subject, value and unit: `FUEL 3.1 US gal`.
    pub what: String,
    /// How the value stands to the limit: `below 4.0`.
    pub beyond: String,
    /// For how long: `for 2 min 40 s`; of a stale line its age.
    pub time: String,
}

impl BannerLine {
    /// Most lines that are shown: a third would no longer be read.
    pub const MOST: usize = 2;

    /// The line as one sentence, for the ledger.
    pub fn sentence(&self) -> String {
        [&*self.what, &*self.beyond, &*self.time].join(", ")
    }
}

/// The limits of a panel that has a banner, each bound to its channel.
pub(super) struct Banner {
    watched: Vec<Watched>,
}

/// A limit that may appear, and where its value comes from.
struct Watched {
    index: usize,
    hand: Hand,
    /// As the log or else the panel's instrument states it.
    unit: String,
    /// Digits after the point, as the panel's instrument for the same channel writes them.
    decimals: u8,
}

impl Banner {
    /// Nothing for a panel without a banner.
    pub fn new(session: &Session, panel: &Panel, bind: impl Fn(&HandSource<'_>) -> Hand) -> Self {
        let Some(banner) = panel.banner else { return Self { watched: Vec::new() } };
        let may_appear = panel.limits.iter().enumerate().filter(|(_, limit)| limit.severity <= banner.least);
        let watched = may_appear.map(|(index, limit)| {
            let id = session.find(&limit.channel);
            let recorded = id.and_then(|id| session.channel(id)).and_then(|channel| channel.unit.clone());
            let shown = shown_by(session, panel, id, recorded.as_deref());
            let hand = bind(&HandSource { name: "value", channel: &limit.channel, unit: "" });
            let (unit, decimals) = shown.unwrap_or_default();
            Watched { index, hand, unit: recorded.unwrap_or(unit), decimals: decimals.max(needed(limit.value)) }
        });
        Self { watched: watched.collect() }
    }

    /// The lines at a session time: what is passed now, gravest first, then what was when its data ended; of equals in the
    /// panel's order, so that none jumps.
    pub fn at(
        &mut self,
        session: &Session,
        judged: &Judged,
        panel: &Panel,
        alerts: &[AlertShown],
        time: SessionTime,
    ) -> Vec<BannerLine> {
        let mut lines = Vec::new();
        for watched in &mut self.watched {
            let Some((limit, line)) = panel.limits.get(watched.index).zip(judged.alerts.get(watched.index)) else {
                continue;
            };
            match alerts.get(watched.index) {
                Some(AlertShown::On) => {
                    let (reading, _) = watched.hand.read(session, time);
                    let bound = judged.bound(watched.index, limit, time.0);
                    lines.push(watched.line(limit, bound, reading, passed_since(limit, line, time.0), time.0));
                }
                Some(&AlertShown::Lost { age_s }) => {
                    let [age, _] = old(age_s);
                    let beyond = format!("was {} {}", side(limit), number(limit.value, watched.decimals));
                    let (severity, what) = (limit.severity, limit.subject.clone());
                    lines.push(BannerLine { severity, now: false, what, beyond, time: age });
                }
                _ => {}
            }
        }
        lines.sort_by_key(|line| (!line.now, line.severity));
        lines.truncate(BannerLine::MOST);
        lines
    }
}

impl Watched {
    /// `bound` is where the limit stands now.
    fn line(&self, limit: &Limit, bound: f64, reading: Reading, since: Option<Passed>, now_s: f64) -> BannerLine {
        let time = since.map_or_else(String::new, |since| {
            let at_least = if since.at_least { "at least " } else { "" };
            format!("for {at_least}{}", lasted(now_s - since.from_s))
        });
        let (severity, subject) = (limit.severity, limit.subject.clone());
        if let Some(over_s) = limit.over_s {
            // The value itself is not what passed the limit.
            let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
            let change = if limit.is_minimum { "rises by less than" } else { "rises by more than" };
            let beyond = format!("{change} {}{unit} in {}", number(bound, needed(bound)), lasted(over_s));
            return BannerLine { severity, now: true, what: subject, beyond, time };
        }
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        let known = reading.value.filter(|v| v.is_finite());
        let (sign, known) = match reading.state {
            State::SaturatedLow => ("\u{2264} ", known),
            State::SaturatedHigh => ("\u{2265} ", known),
            State::Measured | State::Derived | State::Held => ("", known),
            State::Stale | State::Invalid => ("", None),
        };
        let is_beyond = |v: f64| limit.is_beyond(v, bound, 0.0);
        // While it stands, an alert outlives the excess by its hysteresis: "below 4.0" would then be wrong.
        let clears_at = if limit.is_minimum { bound + limit.clear_by } else { bound - limit.clear_by };
        let (word, bound) = match known {
            Some(value) if !is_beyond(value) => ("clears at", clears_at),
            _ => (side(limit), bound),
        };
        let (value, bound) = told_apart(known, bound, self.decimals.max(needed(bound)));
        let what = value.map_or_else(|| subject.clone(), |v| format!("{subject} {sign}{v}{unit}"));
        let held = if reading.state == State::Held { "held, " } else { "" };
        BannerLine { severity, now: true, what, beyond: format!("{held}{word} {bound}"), time }
    }
}

const fn side(limit: &Limit) -> &'static str {
    if limit.is_minimum { "below" } else { "above" }
}

/// A value and a bound as they are written: with more digits where rounding would make them look the same.
fn told_apart(value: Option<f64>, bound: f64, decimals: u8) -> (Option<String>, String) {
    let write = |decimals| (value.map(|v| number(v, decimals)), number(bound, decimals));
    (decimals..decimals + 3)
        .map(write)
        .find(|(value, bound)| value.as_ref() != Some(bound))
        .unwrap_or_else(|| write(decimals))
}

/// Digits after the point that a limit needs to be written as the owner did.
fn needed(limit: f64) -> u8 {
    (0..6).find(|&d| (limit * 10f64.powi(d)).fract().abs() < 1e-6).unwrap_or(6) as u8
}

/// Unit and digits of the panel's first instrument that shows a channel in the unit of its log, if the log states one.
fn shown_by(session: &Session, panel: &Panel, id: Option<ChannelId>, recorded: Option<&str>) -> Option<(String, u8)> {
    let id = id?;
    panel.instruments.iter().find_map(|instrument| {
        let hands = instrument.face.hands();
        let its_own = |hand: &HandSource<'_>| {
            session.find(hand.channel) == Some(id) && recorded.is_none_or(|unit| unit == hand.unit)
        };
        let i = hands.iter().position(its_own)?;
        Some((hands[i].unit.to_owned(), instrument.face.decimals(i)))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fuel(is_minimum: bool) -> Limit {
        Limit {
            name: "fuel".into(),
            seconds: 10.0,
            clear_by: 1.0,
            severity: Severity::Caution,
            subject: "FUEL".into(),
            word: "LOW".into(),
            source: "invented".into(),
            ..Limit::bare("fuel", 4.0, is_minimum)
        }
    }

    fn sentence(limit: &Limit, value: f64, state: State, since: Option<Passed>) -> String {
        let hand = Hand { bound: None, cursor: Default::default(), lag: None };
        let watched = Watched { index: 0, hand, unit: "US gal".into(), decimals: 1 };
        let age_s = if state == State::Held { 0.6 } else { 0.0 };
        watched.line(limit, limit.value, Reading { value: Some(value), state, age_s }, since, 160.4).sentence()
    }

    #[test]
    fn the_words_of_every_state() {
        let since = Some(Passed { from_s: 0.0, at_least: false });
        let low = |value, state| sentence(&fuel(true), value, state, since);
        assert_eq!(low(3.1, State::Measured), "FUEL 3.1 US gal, below 4.0, for 2 min 40 s");
        assert_eq!(low(3.1, State::Held), "FUEL 3.1 US gal, held, below 4.0, for 2 min 40 s");
        assert_eq!(low(3.98, State::Measured), "FUEL 3.98 US gal, below 4.00, for 2 min 40 s", "4.0 is not below 4.0");
        assert_eq!(low(4.3, State::Measured), "FUEL 4.3 US gal, clears at 5.0, for 2 min 40 s");
        assert_eq!(low(3.1, State::SaturatedLow), "FUEL \u{2264} 3.1 US gal, below 4.0, for 2 min 40 s");
        assert_eq!(low(3.1, State::Stale), "FUEL, below 4.0, for 2 min 40 s", "no number that is not of now");
        let high = sentence(&fuel(false), 4.2, State::Measured, Some(Passed { from_s: 140.0, at_least: true }));
        assert_eq!(high, "FUEL 4.2 US gal, above 4.0, for at least 20 s");
    }

    #[test]
    fn digits_as_the_owner_wrote_them() {
        assert_eq!([95.0, 25.5, 0.25, -3.0].map(needed), [0, 1, 2, 0]);
    }
}
