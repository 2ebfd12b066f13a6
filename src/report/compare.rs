//! Two flights over each other: the phases that both have, the channels that both logged, and what differs.
//!
//! It says by how much two records differ, and never which flight was the better one.

use super::channels::places;
use super::words::{number, seconds};
use super::{Document, Flight, SourceFile};
use crate::judge::{EventKind, Phase};
use crate::panel::{Panel, PhaseChannels};
use crate::session::{ChannelId, Session};
use crate::signal::{Channel, Kind, Origin, Samples};
use serde::Serialize;
use std::collections::BTreeMap;

/// What happened so close to a phase may stand for it when two are laid over each other, in seconds (common practice, no
/// source): the touch-down comes after the approach and the hover.
const NEAR_S: f64 = 60.0;
/// Channels whose records come this much more often in one flight than in the other are told (common practice, no source).
const OTHER_SAMPLING: f64 = 1.5;
/// What is shown first, where both flights have it.
const FIRST: [Phase; 3] = [Phase::Autorotation, Phase::Approach, Phase::TakeOff];

/// A flight beside another one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The other flight.
    pub other: OtherFlight,
    /// What a reader must know before the two are compared.
    pub said: Vec<String>,
    /// Every channel of either flight.
    pub channels: Vec<SharedChannel>,
    /// Phases of this flight that the other has too, in the order of time.
    pub here: Vec<Occurrence>,
    /// Phases of the other flight that this one has too.
    pub there: Vec<Occurrence>,
    /// What is laid over what unless the reader chooses: the first one of a phase over the first, the second over the second. What is shown
    /// first stands first.
    pub pairs: Vec<OccurrencePair>,
    /// Why there is nothing to lay over each other; none where there is.
    pub nothing: Option<String>,
    /// How phases are paired and laid.
    pub rule: String,
}

/// The other flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherFlight {
    /// Its flight file.
    pub file: String,
    /// Its title.
    pub title: String,
    /// Its aircraft; empty where it is not said.
    pub aircraft: String,
    /// UTC of its session time 0, where its reference log knows it.
    pub first_utc: Option<String>,
    /// First session time of its records.
    pub from_s: f64,
    /// Last session time of its records.
    pub to_s: f64,
    /// The files that were read for it.
    pub files: Vec<SourceFile>,
}

/// A channel that one flight or both logged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SharedChannel {
    /// Its name in this flight, or in the other where only that has it.
    pub channel: String,
    /// Its name in the other flight, where the two are compared.
    pub other: Option<String>,
    /// The unit of both.
    pub unit: String,
    /// Whether it was computed, in either flight.
    pub derived: bool,
    /// Whether it may be compared.
    pub compared: bool,
    /// Why not; or, of one that is compared, what differs all the same.
    pub note: Option<String>,
}

/// One time that a flight was in a phase.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Occurrence {
    /// The phase.
    pub phase: String,
    /// Which time that was, from 1.
    pub number: usize,
    /// How often the flight was in it.
    pub of: usize,
    /// Start, in the session seconds of its own flight.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
    /// How exact both are, in seconds.
    pub plus_minus_s: f64,
    /// Moments in it or near it that have a name.
    pub marks: Vec<NamedMoment>,
    /// What its channels did from start to end: one a compared channel, in the order of [`Comparison::channels`]; none without a record.
    pub figures: Vec<Option<OccurrenceFigures>>,
}

/// A moment with a name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NamedMoment {
    /// What it is, e.g. *landing*.
    pub name: String,
    /// Session seconds of its own flight.
    pub at_s: f64,
}

/// Extremes and mean of the records of a channel in an occurrence.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OccurrenceFigures {
    /// The least record.
    pub least: f64,
    /// When, in session seconds of its own flight.
    pub least_s: f64,
    /// The mean of the records.
    pub mean: f64,
    /// The greatest record.
    pub greatest: f64,
    /// When.
    pub greatest_s: f64,
    /// How many records.
    pub records: usize,
}

/// An occurrence over another one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OccurrencePair {
    /// The phase.
    pub phase: String,
    /// Its place in [`Comparison::here`].
    pub here: usize,
    /// Its place in [`Comparison::there`].
    pub there: usize,
    /// What lies over each other: `start`, `end` or a mark of both.
    pub laid_by: String,
    /// How much longer it lasted here, in seconds.
    pub longer_s: f64,
    /// How exact that is.
    pub plus_minus_s: f64,
    /// This flight's figures less the other's, one a compared channel; none where one of them has no record.
    pub differences: Vec<Option<FigureDifference>>,
}

/// This flight's figures less the other's, in the channel's unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FigureDifference {
    /// Of the least records.
    pub least: f64,
    /// Of the means.
    pub mean: f64,
    /// Of the greatest records.
    pub greatest: f64,
}

/// Lays a flight over another one, each with its document. `file` is the other's flight file; `own_panel` says whether it was judged by a
/// panel of its own.
pub fn comparison(
    (here, document): (&Flight<'_>, &Document),
    (there, other): (&Flight<'_>, &Document),
    file: String,
    own_panel: bool,
) -> Comparison {
    let (channels, ids) = channels(here, there);
    let (ours, theirs): (Vec<_>, Vec<_>) = ids.into_iter().unzip();
    let (mut a, mut b) = (occurrences(here, &ours), occurrences(there, &theirs));
    let names = |all: &[(Phase, Occurrence)]| {
        let had = |phase: &&Phase| all.iter().any(|it| it.0 == **phase);
        let names: Vec<String> = Phase::ALL.iter().filter(had).map(|phase| phase.name().to_lowercase()).collect();
        if names.is_empty() { "none".to_owned() } else { names.join(", ") }
    };
    let (had, has) = (names(&a), names(&b));
    let phases = |all: &[(Phase, Occurrence)]| all.iter().map(|it| it.0).collect::<Vec<Phase>>();
    let (in_a, in_b) = (phases(&a), phases(&b));
    a.retain(|it| in_b.contains(&it.0));
    b.retain(|it| in_a.contains(&it.0));
    let pairs = pairs(&a, &b);
    let nothing = pairs.is_empty().then(|| {
        let why = |flight: &Flight<'_>| {
            if flight.panel.phases.is_none() { " (its panel has no rules for phases)" } else { "" }
        };
        format!("no phase was judged in both flights: {had} here{}, {has} there{}", why(here), why(there))
    });
    let flight = &other.flight;
    let file_of = OtherFlight {
        file,
        title: flight.title.clone(),
        aircraft: flight.aircraft.clone(),
        first_utc: flight.first_utc.clone(),
        from_s: flight.from_s,
        to_s: flight.to_s,
        files: other.provenance.files.clone(),
    };
    Comparison {
        said: said(document, other, own_panel),
        other: file_of,
        channels,
        here: a.into_iter().map(|it| it.1).collect(),
        there: b.into_iter().map(|it| it.1).collect(),
        pairs,
        nothing,
        rule: format!(
            "The first of a phase lies over the first, the second over the second; an approach by its end, every other by its start. Shown first: {}, \
             else the longest that both have. Other choices: the end, or what happened in both within {NEAR_S} s of the phase. Figures are of the \
             records from start to end of the phase; differences are this flight less the other.",
            FIRST.map(|phase| phase.name().to_lowercase()).join(", else ")
        ),
    }
}

/// What differs between the two flights before a single value is read.
fn said(here: &Document, there: &Document, own_panel: bool) -> Vec<String> {
    let mut said = Vec::new();
    let logs = |document: &Document| -> Vec<String> {
        let logs = document.provenance.files.iter().filter(|file| file.role == "log");
        logs.filter_map(|file| file.sha256.clone()).collect()
    };
    let (a, b) = (&here.flight, &there.flight);
    if !logs(here).is_empty() && logs(here) == logs(there) {
        said.push("Both are one flight: the logs are the same files.".to_owned());
    } else {
        said.push(
            "Two flights, each on its own clock: they meet at the moment by which they are laid, and by nothing else."
                .to_owned(),
        );
        let day = |utc: &Option<String>| utc.as_deref().and_then(|utc| utc.get(..10)).map(str::to_owned);
        match (day(&a.first_utc), day(&b.first_utc)) {
            (Some(one), Some(two)) if one == two => {}
            (Some(one), Some(two)) => said.push(format!("Different days: {one} here, {two} there.")),
            (one, two) => {
                let which = if one.is_some() {
                    "the other was"
                } else if two.is_some() {
                    "this flight was"
                } else {
                    "either was"
                };
                said.push(format!("No log says on which day {which}."));
            }
        }
        match (a.aircraft.as_str(), b.aircraft.as_str()) {
            ("", _) | (_, "") => said.push("Whether it is the same aircraft is not said.".to_owned()),
            (one, two) if one != two => said.push(format!("Different aircraft: {one} here, {two} there.")),
            _ => {}
        }
    }
    if own_panel {
        said.push("The other flight's phases were judged by the panel that its own flight file names.".to_owned());
    }
    said.push("Weight, wind and air may differ, and nothing here allows for them. No difference says which flight was flown better.".to_owned());
    said
}

/// Every channel of either flight, and of each one that is compared its places in both.
fn channels(here: &Flight<'_>, there: &Flight<'_>) -> (Vec<SharedChannel>, Vec<(ChannelId, ChannelId)>) {
    let (mut all, mut ids, mut met) = (Vec::new(), Vec::new(), Vec::new());
    let (hidden, hidden_there) = (places(here.session, here.panel), places(there.session, there.panel));
    let told = |panel: &Panel, session: &Session, id: ChannelId| {
        panel.lamps.iter().all(|lamp| session.find(&lamp.channel) != Some(id))
    };
    for (id, name, channel) in here.session.channels() {
        if hidden.contains(&id) || !told(here.panel, here.session, id) {
            continue;
        }
        let mut row = SharedChannel {
            channel: name.clone(),
            other: None,
            unit: channel.unit.clone().unwrap_or_default(),
            derived: channel.origin == Origin::Derived,
            compared: false,
            note: None,
        };
        match counterpart(here, there, (id, &name, channel)) {
            None if row.derived => continue,
            None => row.note = Some("not logged in the other flight".to_owned()),
            Some((found, other_name, other)) => {
                met.push(found);
                row.derived |= other.origin == Origin::Derived;
                let why = not_comparable(channel, other);
                row.compared = why.is_none();
                row.note = why.or_else(|| other_sampling(channel, other));
                if row.compared {
                    row.other = Some(other_name);
                    ids.push((id, found));
                }
            }
        }
        all.push(row);
    }
    for (id, name, channel) in there.session.channels() {
        let plain =
            channel.origin != Origin::Derived && !hidden_there.contains(&id) && told(there.panel, there.session, id);
        if plain && !met.contains(&id) {
            let note = Some("not logged in this flight".to_owned());
            let unit = channel.unit.clone().unwrap_or_default();
            all.push(SharedChannel { channel: name, other: None, unit, derived: false, compared: false, note });
        }
    }
    // What is compared stands first, what was recorded before what was computed: both lists keep one order.
    let compared: Vec<SharedChannel> = all.iter().filter(|row| row.compared).cloned().collect();
    let mut order: Vec<usize> = (0..compared.len()).collect();
    order.sort_by_key(|&i| compared[i].derived);
    let rest = all.into_iter().filter(|row| !row.compared);
    let rows = order.iter().map(|&i| compared[i].clone()).chain(rest).collect();
    (rows, order.iter().map(|&i| ids[i]).collect())
}

/// The other flight's channel of the same name, or of the same column, or with the same part in its panel's rules for phases.
fn counterpart<'a>(
    here: &Flight<'_>,
    there: &'a Flight<'_>,
    (id, name, channel): (ChannelId, &str, &Channel),
) -> Option<(ChannelId, String, &'a Channel)> {
    let part = || {
        let part = |flight: &Flight<'_>| flight.panel.phases.as_ref().map(|rules| rules.channels.clone());
        let (ours, theirs): (PhaseChannels, PhaseChannels) = (part(here)?, part(there)?);
        let same = |name: &Option<&str>| name.is_some_and(|name| here.session.find(name) == Some(id));
        let i = ours.names().iter().position(same)?;
        there.session.find(theirs.names()[i]?)
    };
    let found = there.session.find(name).or_else(|| there.session.find(&channel.name)).or_else(part)?;
    there.session.channels().find(|(other, ..)| *other == found)
}

/// Why two channels cannot be compared.
fn not_comparable(a: &Channel, b: &Channel) -> Option<String> {
    let texts = |channel: &Channel| matches!(channel.samples, Samples::Texts(_));
    if texts(a) || texts(b) {
        return Some("words, not numbers".to_owned());
    }
    if a.kind != b.kind {
        return Some("one of them counts states, the other measures".to_owned());
    }
    if a.kind == Kind::Discrete {
        return Some("states, not values".to_owned());
    }
    let unit = |channel: &Channel| channel.unit.clone().unwrap_or_else(|| "none stated".to_owned());
    (unit(a) != unit(b)).then(|| format!("other unit: {} here, {} there", unit(a), unit(b)))
}

/// That the records of two channels come at another pace.
fn other_sampling(a: &Channel, b: &Channel) -> Option<String> {
    let step = |channel: &Channel| {
        let (first, last) = (channel.times.first()?, channel.times.last()?);
        (channel.times.len() > 1).then(|| (last - first) / (channel.times.len() - 1) as f64)
    };
    let (a, b) = (step(a)?, step(b)?);
    let told = |step: f64| {
        if step < 1.0 { format!("{} a second", number(1.0 / step, 0)) } else { format!("one in {}", seconds(step)) }
    };
    ((a / b).max(b / a) > OTHER_SAMPLING)
        .then(|| format!("other sampling: {} here, {} there; the slower one can miss a peak", told(a), told(b)))
}

/// Every time that a flight was in a phase, in the order of time.
fn occurrences(flight: &Flight<'_>, ids: &[ChannelId]) -> Vec<(Phase, Occurrence)> {
    let (first, last) = flight.session.span();
    let spans: Vec<_> =
        flight.judged.phases.line.stretches(first.0, last.0).filter(|span| span.2 != Phase::NotJudged).collect();
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    let occurrence = |&(from_s, to_s, phase): &(f64, f64, Phase)| {
        let number = count.entry(phase.name()).or_default();
        *number += 1;
        let of = spans.iter().filter(|span| span.2 == phase).count();
        let occurrence = Occurrence {
            phase: phase.name().to_owned(),
            number: *number,
            of,
            from_s,
            to_s,
            plus_minus_s: flight.judged.phases.plus_minus_s,
            marks: marks(flight, from_s, to_s),
            figures: ids.iter().map(|&id| figures(flight.session, id, from_s, to_s)).collect(),
        };
        (phase, occurrence)
    };
    spans.iter().map(occurrence).collect()
}

/// Moments by which a phase may be laid over another: what happened in it or near it, and what was done at a moment of its own. Of several
/// of one name the nearest counts.
fn marks(flight: &Flight<'_>, from_s: f64, to_s: f64) -> Vec<NamedMoment> {
    let away = |at: f64| (from_s - at).max(at - to_s).max(0.0);
    let mut found: Vec<NamedMoment> = Vec::new();
    for event in &flight.judged.events {
        if matches!(event.kind, EventKind::SplitNotJudged | EventKind::ColdCheck | EventKind::LampAndAlertDiffer) {
            continue;
        }
        let name = event.name.to_lowercase();
        let own = (name.clone(), event.from_s);
        // What took so long has a moment at which it was done.
        let done = event.facts.iter().filter_map(|fact| Some((fact.name.strip_suffix(" after")?, fact.at_s?)));
        let facts = done.map(|(what, at)| (format!("{name}: {what}"), at));
        let end = (event.kind == EventKind::Autorotation).then(|| (format!("{name}: end"), event.to_s));
        for (name, at_s) in std::iter::once(own).chain(facts).chain(end).filter(|mark| away(mark.1) <= NEAR_S) {
            match found.iter_mut().find(|mark| mark.name == name) {
                Some(mark) if away(mark.at_s) > away(at_s) => mark.at_s = at_s,
                Some(_) => {}
                None => found.push(NamedMoment { name, at_s }),
            }
        }
    }
    found
}

fn figures(session: &Session, id: ChannelId, from_s: f64, to_s: f64) -> Option<OccurrenceFigures> {
    let (channel, fit) = (session.channel(id)?, session.fit(id)?);
    let Samples::Numbers(values) = &channel.samples else { return None };
    // The mean of directions is no direction.
    if channel.kind == Kind::Angle {
        return None;
    }
    let (from, to) = (fit.at(from_s), fit.at(to_s));
    let start = channel.times.partition_point(|t| *t < from);
    let end = channel.times.partition_point(|t| *t < to).max(start);
    let records = values.get(start..end)?;
    let least = records.iter().enumerate().reduce(|a, b| if b.1 < a.1 { b } else { a })?;
    let greatest = records.iter().enumerate().reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    let when = |i: usize| channel.times.get(start + i).map(|t| fit.inverse(*t));
    Some(OccurrenceFigures {
        least: *least.1,
        least_s: when(least.0)?,
        mean: records.iter().sum::<f64>() / records.len() as f64,
        greatest: *greatest.1,
        greatest_s: when(greatest.0)?,
        records: records.len(),
    })
}

fn pairs(a: &[(Phase, Occurrence)], b: &[(Phase, Occurrence)]) -> Vec<OccurrencePair> {
    let mut all = Vec::new();
    for (i, (phase, here)) in a.iter().enumerate() {
        let same = |it: &(Phase, Occurrence)| it.0 == *phase && it.1.number == here.number;
        let Some((j, (_, there))) = b.iter().enumerate().find(|(_, it)| same(it)) else { continue };
        let difference = |(a, b): (&Option<OccurrenceFigures>, &Option<OccurrenceFigures>)| {
            let (a, b) = ((*a)?, (*b)?);
            Some(FigureDifference {
                least: a.least - b.least,
                mean: a.mean - b.mean,
                greatest: a.greatest - b.greatest,
            })
        };
        let pair = OccurrencePair {
            phase: here.phase.clone(),
            here: i,
            there: j,
            laid_by: if *phase == Phase::Approach { "end" } else { "start" }.to_owned(),
            longer_s: (here.to_s - here.from_s) - (there.to_s - there.from_s),
            plus_minus_s: 2.0 * here.plus_minus_s.hypot(there.plus_minus_s),
            differences: here.figures.iter().zip(&there.figures).map(difference).collect(),
        };
        let shorter = (here.to_s - here.from_s).min(there.to_s - there.from_s);
        all.push((FIRST.iter().position(|first| first == phase).unwrap_or(FIRST.len()), shorter, pair));
    }
    let first = all.iter().enumerate().min_by(|(_, a), (_, b)| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))).map(|it| it.0);
    if let Some(first) = first {
        all[..=first].rotate_right(1);
    }
    all.into_iter().map(|it| it.2).collect()
}
