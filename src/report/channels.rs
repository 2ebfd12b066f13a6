//! The channels as the page draws them: names, scales and marks of the owner's panel, and every record.

use super::FitRow;
use super::gather::{lit_text, severity_word};
use super::packed::{Bytes, Packed};
use crate::clock::ClockFit;
use crate::judge::{AlertState, Judged, LampGroup, LampState};
use crate::meaning::Meaning;
use crate::panel::{Control, Face, Marking, Panel, Scale};
use crate::readout::conversion;
use crate::session::{ChannelId, Session};
use crate::signal::{Channel, Kind, Origin, Samples};
use serde::Serialize;
use std::collections::HashMap;
use std::sync::Arc;

/// What the page needs beyond the document to draw a flight.
#[derive(Serialize)]
pub(super) struct Drawn {
    /// Logs and their clocks, those that were computed last.
    groups: Vec<Group>,
    /// Times of records, each a list that one channel or several use.
    axes: Vec<Packed>,
    channels: Vec<PageChannel>,
    lamps: Vec<LampRow>,
    /// What the panel knows as the pilot's controls.
    controls: Vec<ControlRow>,
    /// One a limit, in the document's order.
    alerts: Vec<AlertRow>,
    /// Channels of latitude and longitude, in degrees.
    track: Option<[usize; 2]>,
    /// The channel whose line is the flight's profile.
    height: Option<usize>,
    /// Whether positions were left out on request.
    without_location: bool,
}

/// Channels of one clock.
#[derive(Serialize)]
struct Group {
    name: String,
    /// Its file's name; none for what was computed.
    file: Option<String>,
    /// Session time to its own; none for a log that nothing joins.
    fit: Option<FitRow>,
    /// How many parts with a clock each it is made of.
    parts: usize,
    /// Channels drawn together, one or two each.
    lanes: Vec<Vec<usize>>,
}

#[derive(Serialize)]
struct PageChannel {
    name: String,
    /// The name without that of its log.
    label: String,
    unit: String,
    group: usize,
    kind: &'static str,
    derived: bool,
    /// Ages in seconds: joined, held, stale.
    rules: [f64; 3],
    /// Records before which the logger was off.
    cuts: Vec<usize>,
    /// Digits after the point that are worth writing.
    decimals: u8,
    axis: usize,
    values: Packed,
    /// What the values count in, for a channel of texts.
    texts: Option<Vec<String>>,
    /// Value and place, 0 at the foot of the lane and 1 at its top, as on the owner's dial.
    scale: Vec<(f64, f64)>,
    /// Values that carry a numeral.
    numerals: Vec<f64>,
    marks: Vec<Mark>,
    /// Whether its turns stand in a lane of lamps, and it has none of its own.
    is_lamp: bool,
}

#[derive(Serialize)]
struct Mark {
    kind: &'static str,
    from: f64,
    to: f64,
    /// Whether it counts only with power off.
    off: bool,
}

/// The lamps of one subject.
#[derive(Serialize)]
struct LampRow {
    subject: String,
    /// Word and severity of each.
    lamps: Vec<(String, &'static str)>,
    /// From when on which is lit; -1 none, -2 they disagree, -3 stale, -4 nothing there.
    turns: Vec<(f64, i32)>,
}

/// One of the pilot's controls.
#[derive(Serialize)]
struct ControlRow {
    name: &'static str,
    channel: usize,
    /// What the channel says at the ends of the travel, and what these are called.
    range: (f64, f64),
    ends: [&'static str; 2],
    /// Whether it rests in the middle of its travel.
    centred: bool,
}

/// A computed alert: 0 off, 1 waiting, 2 on, 3 unknown.
#[derive(Serialize)]
struct AlertRow {
    turns: Vec<(f64, u8)>,
    /// The channel that it watches.
    channel: Option<usize>,
}

/// A fit as it is written.
pub(super) fn fit_row(fit: &ClockFit) -> FitRow {
    FitRow {
        pivot_s: fit.pivot_s,
        offset_at_pivot_s: fit.offset_at_pivot_s,
        rate: fit.rate,
        sigma_s: fit.cov[0][0].sqrt(),
        sigma_rate: fit.cov[1][1].sqrt(),
    }
}

/// Channels that tell where the aircraft was.
pub(super) fn places(session: &Session, panel: &Panel) -> Vec<ChannelId> {
    let on_panel = panel.instruments.iter().filter_map(|i| match &i.face {
        Face::Track(track) => Some([session.find(&track.latitude), session.find(&track.longitude)]),
        _ => None,
    });
    let mut found: Vec<ChannelId> = on_panel.flatten().flatten().collect();
    found.extend(session.channels().filter(|(_, _, channel)| tells_place(channel)).map(|(id, ..)| id));
    found
}

fn tells_place(channel: &Channel) -> bool {
    // The variation of one day belongs to a line on the map.
    let variation = channel.origin == Origin::Derived && channel.name == "Variation";
    variation || matches!(Meaning::of_name(&channel.name), Some(Meaning::Latitude | Meaning::Longitude))
}

/// Gathers what the page draws, and puts its numbers into `bytes`.
pub(super) fn drawn(session: &Session, panel: &Panel, judged: &Judged, located: bool, bytes: &mut Bytes) -> Drawn {
    let places = places(session, panel);
    let mut axes: Vec<(Arc<[f64]>, Packed)> = Vec::new();
    let mut index: HashMap<usize, usize> = HashMap::new();
    let mut channels: Vec<PageChannel> = Vec::new();
    let mut ids: Vec<ChannelId> = Vec::new();
    let mut groups: Vec<Group> = session
        .sources()
        .map(|source| Group {
            name: source.name.to_owned(),
            file: source.file.and_then(|file| file.file_name()).map(|name| name.to_string_lossy().into_owned()),
            fit: source.fit.map(fit_row),
            parts: source.parts,
            lanes: Vec::new(),
        })
        .collect();
    let lamps: Vec<ChannelId> = panel.lamps.iter().filter_map(|lamp| session.find(&lamp.channel)).collect();
    for (id, name, channel) in session.channels() {
        if !located && places.contains(&id) {
            continue;
        }
        // Most channels of a log share their times.
        let shared = index.get(&(Arc::as_ptr(&channel.times) as *const f64 as usize)).copied();
        let axis = shared.or_else(|| axes.iter().position(|(times, _)| **times == *channel.times));
        let axis = axis.unwrap_or_else(|| {
            axes.push((Arc::clone(&channel.times), bytes.times(&channel.times)));
            axes.len() - 1
        });
        index.insert(Arc::as_ptr(&channel.times) as *const f64 as usize, axis);
        let log = name.strip_suffix(&*channel.name).and_then(|n| n.strip_suffix('.')).unwrap_or_default();
        let group = groups.iter().position(|g| g.name == log).unwrap_or(groups.len() - 1);
        channels.push(page_channel(session, panel, (id, &name, channel), group, axis, lamps.contains(&id), bytes));
        ids.push(id);
    }
    let place = |id: ChannelId| ids.iter().position(|other| *other == id);
    lanes(session, panel, &ids, &channels, &places, &mut groups);
    let latitude_and_longitude = || {
        let of = |meaning| {
            session
                .channels()
                .find(|(_, _, c)| Meaning::of_name(&c.name) == Some(meaning))
                .and_then(|(id, ..)| place(id))
        };
        let shown = panel.instruments.iter().find_map(|i| match &i.face {
            Face::Track(t) => Some([place(session.find(&t.latitude)?)?, place(session.find(&t.longitude)?)?]),
            _ => None,
        });
        shown.or_else(|| Some([of(Meaning::Latitude)?, of(Meaning::Longitude)?]))
    };
    Drawn {
        track: latitude_and_longitude(),
        height: height(session, panel).and_then(place),
        axes: axes.into_iter().map(|(_, packed)| packed).collect(),
        lamps: lamp_rows(panel, judged),
        controls: controls(panel, |name| session.find(name).and_then(place)),
        alerts: panel
            .limits
            .iter()
            .zip(&judged.alerts)
            .map(|(limit, line)| AlertRow {
                turns: line.turns().iter().map(|&(t, state)| (t, alert_code(state))).collect(),
                channel: session.find(&limit.channel).and_then(place),
            })
            .collect(),
        groups,
        channels,
        without_location: !located,
    }
}

/// The altitude by which phases are judged, or that the panel shows, or the first of what is known as one.
pub(super) fn height(session: &Session, panel: &Panel) -> Option<ChannelId> {
    let of_phases = panel.phases.as_ref().and_then(|rules| rules.channels.altitude.as_deref());
    let shown = panel.instruments.iter().find_map(|i| match &i.face {
        Face::Altimeter(altimeter) => Some(&*altimeter.channel),
        _ => None,
    });
    let by_name = || {
        use Meaning::{
            BareAltitude, Elevation, GnssAltitude, IndicatedAltitude, LoggerPressureAltitude, PressureAltitude,
        };
        let order =
            [IndicatedAltitude, BareAltitude, PressureAltitude, GnssAltitude, Elevation, LoggerPressureAltitude];
        let of =
            |wanted| session.channels().find(|(_, _, c)| Meaning::of_name(&c.name) == Some(wanted)).map(|(id, ..)| id);
        order.into_iter().find_map(of)
    };
    of_phases.into_iter().chain(shown).find_map(|name| session.find(name)).or_else(by_name)
}

const fn alert_code(state: AlertState) -> u8 {
    match state {
        AlertState::Off => 0,
        AlertState::Waiting => 1,
        AlertState::On => 2,
        AlertState::Unknown | AlertState::Lost { .. } => 3,
    }
}

fn lamp_rows(panel: &Panel, judged: &Judged) -> Vec<LampRow> {
    let row = |group: &LampGroup| {
        let lamps = group.members.iter().filter_map(|&i| panel.lamps.get(i));
        let first = lamps.clone().next()?;
        let code = |state: LampState| match state {
            LampState::Unlit => -1,
            LampState::Lit(i) => group.members.iter().position(|&m| m == i).map_or(-1, |i| i as i32),
            LampState::Disagree => -2,
            LampState::Stale { .. } => -3,
            LampState::Invalid => -4,
        };
        Some(LampRow {
            subject: first.subject.clone(),
            lamps: lamps.map(|lamp| (lit_text(&lamp.lit), severity_word(lamp.severity))).collect(),
            turns: group.shown.turns().iter().map(|&(t, state)| (t, code(state))).collect(),
        })
    };
    judged.groups.iter().filter_map(row).collect()
}

/// The controls that the panel shows and the logs hold, lever first.
fn controls(panel: &Panel, place: impl Fn(&str) -> Option<usize>) -> Vec<ControlRow> {
    let shown = panel.instruments.iter().find_map(|instrument| match &instrument.face {
        Face::Controls(controls) => Some(controls),
        _ => None,
    });
    let Some(shown) = shown else { return Vec::new() };
    let rows = [
        ("Collective", &shown.collective, ["down", "up"], false),
        ("Stick, across", &shown.right, ["left", "right"], true),
        ("Stick, along", &shown.forward, ["aft", "forward"], true),
        ("Pedals", &shown.pedals, ["left", "right"], true),
    ];
    let row = |(name, control, ends, centred): (&'static str, &Option<Control>, [&'static str; 2], bool)| {
        let control = control.as_ref()?;
        Some(ControlRow { name, channel: place(&control.channel)?, range: control.range, ends, centred })
    };
    rows.into_iter().filter_map(row).collect()
}

/// Which channels share a lane: those that share a face and a unit. Lamps and places have none.
fn lanes(
    session: &Session,
    panel: &Panel,
    ids: &[ChannelId],
    channels: &[PageChannel],
    places: &[ChannelId],
    groups: &mut [Group],
) {
    let mut drawn = vec![false; channels.len()];
    for (i, channel) in channels.iter().enumerate() {
        if drawn[i] || channel.is_lamp || places.contains(&ids[i]) {
            continue;
        }
        let beside = panel.instruments.iter().find_map(|instrument| {
            let Face::Tachometer(both) = &instrument.face else { return None };
            let pair = [&both.rotor, &both.engine].map(|name| session.find(name));
            let other = pair.contains(&Some(ids[i])).then(|| pair.into_iter().flatten().find(|id| *id != ids[i]))??;
            let j = ids.iter().position(|id| *id == other)?;
            (channels[j].group == channel.group && channels[j].unit == channel.unit && !drawn[j]).then_some(j)
        });
        let mut lane = vec![i];
        lane.extend(beside);
        lane.iter().for_each(|&i| drawn[i] = true);
        if let Some(group) = groups.get_mut(channel.group) {
            group.lanes.push(lane);
        }
    }
}

fn page_channel(
    session: &Session,
    panel: &Panel,
    (id, name, channel): (ChannelId, &str, &Channel),
    group: usize,
    axis: usize,
    is_lamp: bool,
    bytes: &mut Bytes,
) -> PageChannel {
    let derived = channel.origin == Origin::Derived;
    let (values, texts) = match &channel.samples {
        Samples::Numbers(values) => (bytes.values(values, derived), None),
        Samples::Texts(all) => {
            let mut words: Vec<String> = Vec::new();
            let mut known: HashMap<&str, usize> = HashMap::new();
            let index = all.iter().map(|text| {
                *known.entry(text).or_insert_with(|| {
                    words.push(text.to_string());
                    words.len() - 1
                })
            });
            let index: Vec<usize> = index.collect();
            (bytes.indices(&index), Some(words))
        }
    };
    let unit = channel.unit.clone().unwrap_or_default();
    let dial = dial(session, panel, id, &unit);
    // A hundred-thousandth of a degree is a metre.
    let most = if tells_place(channel) { 5 } else { 3 };
    let own = if derived { 1 } else { values.decimals.unwrap_or(2).min(most) };
    PageChannel {
        name: name.to_owned(),
        label: channel.name.clone(),
        group,
        kind: match (&texts, channel.kind) {
            (Some(_), _) => "text",
            (_, Kind::Continuous) => "continuous",
            (_, Kind::Angle) => "angle",
            (_, Kind::Discrete) => "discrete",
        },
        derived,
        rules: [channel.rules.joined_s, channel.rules.held_s, channel.rules.stale_s],
        cuts: channel.breaks.clone(),
        decimals: dial.decimals.unwrap_or(own),
        axis,
        values,
        texts,
        scale: dial.scale,
        numerals: dial.numerals,
        marks: dial.marks,
        is_lamp,
        unit,
    }
}

/// What the owner's face says of a channel, in the channel's own unit.
#[derive(Default)]
struct OfFace {
    decimals: Option<u8>,
    scale: Vec<(f64, f64)>,
    numerals: Vec<f64>,
    marks: Vec<Mark>,
}

fn dial(session: &Session, panel: &Panel, id: ChannelId, unit: &str) -> OfFace {
    let mut best = OfFace::default();
    for instrument in &panel.instruments {
        let hands = instrument.face.hands();
        let Some(hand) = hands.iter().position(|h| session.find(h.channel) == Some(id)) else { continue };
        // A face in another unit is read back into that of the record.
        let Ok(units) = (if unit.is_empty() { Ok(None) } else { conversion(unit, hands[hand].unit) }) else { continue };
        let back = |value: f64| match units {
            Some((recorded, shown)) => shown.convert(value, recorded).unwrap_or(value),
            None => value,
        };
        if best.decimals.is_none() && units.is_none() && !matches!(instrument.face, Face::Strip(_) | Face::Track(_)) {
            best.decimals = Some(instrument.face.decimals(hand));
        }
        let Some(scale) = instrument.face.scale(hand).filter(|_| best.scale.is_empty()) else { continue };
        if matches!(instrument.face, Face::Strip(_)) {
            continue;
        }
        best.scale = unrolled(scale, back);
        best.numerals = scale.numerals.iter().map(|n| back(n.0)).collect();
        best.marks = marks(&instrument.face, hand, back);
    }
    best
}

/// A dial's scale as a straight one: its angles become heights, so that its folds stay where they are.
fn unrolled(scale: &Scale, back: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let (first, last) = (scale.breakpoints.first(), scale.breakpoints.last());
    let (Some(first), Some(last)) = (first.map(|p| p.1), last.map(|p| p.1)) else { return Vec::new() };
    if first == last {
        return Vec::new();
    }
    scale.breakpoints.iter().map(|&(value, angle)| (back(value), (angle - first) / (last - first))).collect()
}

fn marks(face: &Face, hand: usize, back: impl Fn(f64) -> f64) -> Vec<Mark> {
    let (always, off): (Vec<Marking>, &[Marking]) = match face {
        Face::Tachometer(both) if hand == 0 => {
            ([&*both.rotor_markings, &*both.rotor_by_power.on].concat(), &both.rotor_by_power.off)
        }
        Face::Tachometer(both) => (both.engine_markings.clone(), &[]),
        Face::Pair(pair) => (if hand == 0 { &pair.left } else { &pair.right }.markings.clone(), &[]),
        other => (other.markings(), &[]),
    };
    let mark = |marking: &Marking, off| {
        let kind = match marking {
            Marking::Normal { .. } => "normal",
            Marking::Precaution { .. } => "precaution",
            Marking::Limit { .. } => "limit",
            Marking::Forbidden { .. } => "forbidden",
            Marking::Reference { .. } => "reference",
        };
        let (from, to) = marking.ends();
        Mark { kind, from: back(from), to: back(to), off }
    };
    always.iter().map(|m| mark(m, false)).chain(off.iter().map(|m| mark(m, true))).collect()
}
