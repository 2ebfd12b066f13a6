//! How a derived channel is put together.

use std::sync::Arc;

use super::Basis;
use crate::finding::{Finding, Severity};
use crate::meaning::Meaning;
use crate::session::{ChannelId, DERIVED, Session};
use crate::signal::{Channel, Cursor, Kind, Origin, Samples, State, StateRules};
use crate::time::SessionTime;
use crate::units::Unit;

/// A channel that feeds a formula, in the formula's unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Input {
    pub id: ChannelId,
    from: &'static Unit,
    to: &'static Unit,
    /// What a number in `to` is multiplied by: litres of fuel for a kilogram, else 1.
    factor: f64,
}

impl Input {
    /// A recorded number in the formula's unit.
    fn value(self, recorded: f64) -> Option<f64> {
        Some(self.from.convert(recorded, self.to).ok()? * self.factor)
    }
}

/// What a derived channel is called.
#[derive(Debug, Clone, Copy)]
pub(super) struct Named {
    pub name: &'static str,
    pub unit: &'static str,
    pub kind: Kind,
}

/// Adds derived channels to a session.
pub(super) struct Maker<'a> {
    session: &'a mut Session,
    pub basis: &'a Basis,
    /// The full names of what is asked for; none for everything.
    asked: Option<&'a [String]>,
}

impl<'a> Maker<'a> {
    pub fn new(session: &'a mut Session, basis: &'a Basis, asked: Option<&'a [String]>) -> Self {
        Self { session, basis, asked }
    }

    /// Whether one of these is asked for: what a rule makes, and what others make from that.
    pub fn wants(&self, names: &[&str]) -> bool {
        let is_one =
            |full: &String| full.split_once('.').is_some_and(|(log, name)| log == DERIVED && names.contains(&name));
        self.asked.is_none_or(|asked| asked.iter().any(is_one))
    }

    /// The channel with a meaning, whose unit is stated and converts: of several logs' the preferred one (`session::same`), and a
    /// derived one where there is no other.
    pub fn input(&self, meaning: Meaning, unit: &str) -> Option<Input> {
        let to = Unit::find(unit)?;
        let mut found: Vec<Input> = Vec::new();
        for (id, _, channel) in self.session.channels() {
            let from = channel.unit.as_deref().and_then(Unit::find);
            let is_it =
                Meaning::of(&channel.name, from) == Some(meaning) && matches!(channel.samples, Samples::Numbers(_));
            if let Some(from) = from.filter(|from| is_it && from.dimension == to.dimension) {
                found.push(Input { id, from, to, factor: 1.0 });
            }
        }
        let preferred = self.session.preferred_of(found.iter().map(|input| input.id))?;
        found.into_iter().find(|input| input.id == preferred)
    }

    /// Fuel or its flow in litres (`L`, `L/h`); one that was recorded as a mass (`kg`, `kg/h`) by the owner's density.
    pub fn fuel(&self, meaning: Meaning, [litres, kilograms]: [&str; 2]) -> Option<Input> {
        let by_mass = || {
            let factor = 1000.0 / self.basis.fuel_density_kg_m3?;
            Some(Input { factor, ..self.input(meaning, kilograms)? })
        };
        self.input(meaning, litres).or_else(by_mass)
    }

    /// The recorded channel of one name, without regard to case and the signs between words.
    pub fn called(&self, name: &str, unit: &str) -> Option<Input> {
        let to = Unit::parse(unit).ok()?;
        let mut recorded = self.session.channels().filter(|(id, ..)| self.session.is_recorded(*id));
        recorded.find_map(|(id, _, channel)| {
            let from = Unit::parse(channel.unit.as_deref()?).ok()?;
            let is_it = Meaning::plain(&channel.name) == Meaning::plain(name) && from.dimension == to.dimension;
            (is_it && matches!(channel.samples, Samples::Numbers(_))).then_some(Input { id, from, to, factor: 1.0 })
        })
    }

    /// A channel that was computed already, in its own unit.
    pub fn computed(&self, name: &str) -> Option<Input> {
        let channel = self.session.derived.iter().position(|channel| channel.name == name)?;
        let unit = Unit::parse(self.session.derived[channel].unit.as_deref()?).ok()?;
        Some(Input { id: ChannelId { log: self.session.computed(), channel }, from: unit, to: unit, factor: 1.0 })
    }

    /// The value about which an input stands while it is at work, in the formula's unit.
    pub fn usual(&self, input: Input) -> Option<f64> {
        input.value(self.session.channel(input.id)?.usual()?)
    }

    /// Year and day of the year of a moment in UTC, where the reference log knows it.
    pub fn day(&self, session_s: f64) -> Option<(i32, u16)> {
        let date = jiff::tz::Offset::UTC.to_datetime(self.session.utc(SessionTime(session_s))?).date();
        Some((i32::from(date.year()), u16::try_from(date.day_of_year()).ok()?))
    }

    /// Leaves a sentence on what was summed up.
    pub fn figure(&mut self, sentence: String) {
        self.session.figures.push(sentence);
    }

    /// Leaves a remark on what could not be computed.
    pub fn remark(&mut self, code: &'static str, message: String) {
        self.session.remarks.push(Finding::new(Severity::Note, code, message));
    }

    /// Whether some channel has a meaning already.
    pub fn has(&self, meaning: Meaning) -> bool {
        self.session.channels().any(|(_, _, channel)| Meaning::of_name(&channel.name) == Some(meaning))
    }

    /// The records of an input in session time and in the formula's unit. Before a break what lies closer to the next record than neighbours
    /// do is left out: so every sum, slope and mean finds a gap there.
    pub fn records(&self, input: Input) -> (Vec<(f64, f64)>, StateRules) {
        let empty = (Vec::new(), StateRules::for_interval(1.0));
        let (Some(channel), Some(fit)) = (self.session.channel(input.id), self.session.fit(input.id)) else {
            return empty;
        };
        let Samples::Numbers(values) = &channel.samples else { return empty };
        let mut records = Vec::with_capacity(values.len());
        for (i, (&t, &v)) in channel.times.iter().zip(values).enumerate() {
            if channel.breaks.binary_search(&i).is_ok() {
                while records.pop_if(|last: &mut (f64, f64)| t - fit.at(last.0) <= channel.rules.joined_s).is_some() {}
            }
            records.extend(input.value(v).map(|value| (fit.inverse(t), value)));
        }
        (records, channel.rules)
    }

    /// What an input says at a moment, if that is a value of this moment.
    pub fn at(&self, input: Input, session_s: f64, cursor: &mut Cursor) -> Option<f64> {
        let reading = self.session.reading(input.id, SessionTime(session_s), cursor);
        let fresh = matches!(reading.state, State::Measured | State::Derived);
        input.value(reading.value.filter(|_| fresh)?)
    }

    /// Adds a channel: `formula` of the session time and of every input at each record of the first.
    pub fn add<const N: usize>(
        &mut self,
        named: Named,
        inputs: [Input; N],
        mut formula: impl FnMut(f64, [f64; N]) -> Option<f64>,
    ) {
        let Some(&first) = inputs.first() else { return };
        let (records, rules) = self.records(first);
        let mut cursors = [Cursor::default(); N];
        let of_moment = |&(time, value): &(f64, f64)| {
            let mut values = [value; N];
            for i in 1..N {
                values[i] = self.at(inputs[i], time, &mut cursors[i])?;
            }
            Some((time, formula(time, values)?))
        };
        let made: Vec<(f64, f64)> = records.iter().filter_map(of_moment).collect();
        self.put(named, made, rules, records.len());
    }

    /// Adds a channel of given records, of which there could have been `wanted`. A channel without a record is not added.
    pub fn put(&mut self, named: Named, records: Vec<(f64, f64)>, rules: StateRules, wanted: usize) {
        let finite: Vec<(f64, f64)> = records.into_iter().filter(|(_, value)| value.is_finite()).collect();
        if finite.is_empty() {
            return;
        }
        // Most stand on the same records: they share their times.
        let same = |times: &&Arc<[f64]>| times.iter().eq(finite.iter().map(|(time, _)| time));
        let shared = self.session.derived.iter().rev().map(|channel| &channel.times).find(same).map(Arc::clone);
        self.session.derived.push(Channel {
            name: named.name.to_owned(),
            unit: (!named.unit.is_empty()).then(|| named.unit.to_owned()),
            kind: named.kind,
            times: shared.unwrap_or_else(|| finite.iter().map(|record| record.0).collect()),
            missing: wanted - finite.len().min(wanted),
            samples: Samples::Numbers(finite.into_iter().map(|record| record.1).collect()),
            breaks: Vec::new(),
            rules,
            origin: Origin::Derived,
        });
    }
}

/// The slope of a straight line through the records within `half_s` of each of them, least squares; none where the records do not
/// surround the moment, or leave a gap of more than `gap_s`. `way` is the difference of two values.
pub(super) fn slopes(
    records: &[(f64, f64)],
    half_s: f64,
    gap_s: f64,
    way: impl Fn(f64, f64) -> f64,
) -> Vec<(f64, f64)> {
    let (mut start, mut end) = (0, 0);
    // The last record before which there is a gap.
    let mut after_gap = 0;
    let mut ways: Vec<f64> = Vec::new();
    let mut slopes = Vec::with_capacity(records.len());
    for &(time, middle) in records {
        while start < records.len() && records[start].0 < time - half_s - 1e-9 {
            start += 1;
        }
        while end < records.len() && records[end].0 <= time + half_s + 1e-9 {
            if end > 0 && records[end].0 - records[end - 1].0 > gap_s {
                after_gap = end;
            }
            end += 1;
        }
        let window = &records[start..end];
        let (Some(first), Some(last)) = (window.first(), window.last()) else { continue };
        let whole = after_gap <= start;
        if window.len() < 3 || !whole || time - first.0 < half_s - gap_s || last.0 - time < half_s - gap_s {
            continue;
        }
        let n = window.len() as f64;
        ways.clear();
        ways.extend(window.iter().map(|record| way(middle, record.1)));
        let mean_t = window.iter().map(|record| record.0 - time).sum::<f64>() / n;
        let mean_v = ways.iter().sum::<f64>() / n;
        let (mut over, mut under) = (0.0, 0.0);
        for (&(t, _), way) in window.iter().zip(&ways) {
            let dt = t - time - mean_t;
            over += dt * (way - mean_v);
            under += dt * dt;
        }
        if under > 0.0 {
            slopes.push((time, over / under));
        }
    }
    slopes
}

/// The mean over the `seconds` up to each record; none where the records do not reach so far back, or leave a gap of more than `gap_s`.
pub(super) fn trailing_means(records: &[(f64, f64)], seconds: f64, gap_s: f64) -> Vec<(f64, f64)> {
    let mut means = Vec::new();
    // Where the records without a gap began, and the first of the window.
    let (mut whole, mut start) = (0, 0);
    let mut sum = 0.0;
    for (i, &(time, value)) in records.iter().enumerate() {
        if i > 0 && time - records[i - 1].0 > gap_s {
            (whole, start, sum) = (i, i, 0.0);
        }
        sum += value;
        while records[start].0 < time - seconds - 1e-9 {
            sum -= records[start].1;
            start += 1;
        }
        if time - records[whole].0 >= seconds - 1e-9 {
            means.push((time, sum / (i - start + 1) as f64));
        }
    }
    means
}
