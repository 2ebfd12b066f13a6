//! The panel file: the owner's instruments, scales, markings, lamps and limits, as TOML.

use super::{Density, Dial, DiscSize, Face, Instrument, KeepClear, Panel, Place, Placing, Scale, Side, Slot, Tile};
use crate::keyfile::{self, Document, Fault, Section};
use crate::units::Unit;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

mod altimeter;
mod clock;
mod heading;
mod lamps;
mod legend;
mod marking;
mod motion;
mod pair;
mod phases;
mod plates;
mod rules;
mod scale;
mod shown;
mod strip;
mod tachometer;
mod theme;
mod tones;
mod vertical_speed;

pub use tones::Tone;

/// Where the parts of an instrument stand in the file, for faults that show only later.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentLines {
    /// The head `[[instrument]]`.
    pub head: keyfile::Place,
    /// The names of the channels, one a hand, in the order of [`Face::hands`].
    pub channels: Vec<keyfile::Place>,
    /// The value of `unit`, or the head.
    pub unit: keyfile::Place,
    /// The value of `place`.
    pub place: keyfile::Place,
    /// Channels that no hand shows.
    pub others: ChannelPlaces,
}

/// Channels that are named, each with the place where it stands.
pub type ChannelPlaces = Vec<(String, keyfile::Place)>;

/// A panel file as read.
#[derive(Debug)]
pub struct PanelFile {
    /// The text, for carets.
    pub document: Document,
    /// The panel; instruments with faults are left out.
    pub panel: Panel,
    /// One an instrument of the panel, in its order.
    pub lines: Vec<InstrumentLines>,
    /// Where the owner's colours stand, as many as the panel has.
    pub colours: Vec<keyfile::Place>,
    /// Where the channels of the lamps stand.
    pub lamp_channels: ChannelPlaces,
    /// Where the channels of the limits stand.
    pub limit_channels: ChannelPlaces,
    /// Where the channels of conditions stand.
    pub condition_channels: ChannelPlaces,
    /// Where the channels of the phases stand.
    pub phase_channels: ChannelPlaces,
    /// Where the channels of the engine's rules stand.
    pub engine_channels: ChannelPlaces,
    /// Where each limit's table stands, in the panel's order.
    pub limits: Vec<keyfile::Place>,
    /// Where the table of the banner stands.
    pub banner: Option<keyfile::Place>,
    /// The tones by which a film's sound is laid along a log.
    pub tones: Vec<Tone>,
    /// The owner's own fonts: the regular one, and the bold one.
    pub fonts: [Option<FontFile>; 2],
    /// What is wrong, in the order of the lines.
    pub faults: Vec<Fault>,
}

impl PanelFile {
    /// Every channel that the panel names.
    pub fn channels(&self) -> Vec<String> {
        let hands = self.panel.instruments.iter().flat_map(|instrument| instrument.face.hands());
        let hands = hands.map(|hand| hand.channel.to_owned());
        let others = self.lines.iter().flat_map(|lines| &lines.others);
        let lists = [
            &self.lamp_channels,
            &self.limit_channels,
            &self.condition_channels,
            &self.phase_channels,
            &self.engine_channels,
        ];
        let others = others.chain(lists.into_iter().flatten()).map(|(channel, _)| channel.clone());
        hands.chain(others).collect()
    }
}

/// A font file that the panel names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FontFile {
    /// The file.
    pub file: PathBuf,
    /// Where the panel file names it.
    pub place: keyfile::Place,
    /// The key under which it does: `font` or `bold`.
    pub key: &'static str,
}

/// Reads a panel file. The error is a file that cannot be opened.
pub fn open(file: &Path) -> Result<PanelFile, Box<Fault>> {
    Ok(read(Document::open(file)?))
}

/// Reads a panel from a text.
pub fn read(document: Document) -> PanelFile {
    let folder = document.file.parent().unwrap_or(Path::new("")).to_owned();
    let ((panel, places), faults) = document.read(|top| panel(top, &folder));
    let Places {
        lines,
        theme,
        lamp_channels,
        limit_channels,
        condition_channels,
        phase_channels,
        engine_channels,
        limits,
        banner,
        tones,
    } = places;
    let (colours, fonts) = theme;
    PanelFile {
        document,
        panel,
        lines,
        colours,
        lamp_channels,
        limit_channels,
        condition_channels,
        phase_channels,
        engine_channels,
        limits,
        banner,
        tones,
        fonts,
        faults,
    }
}

/// Where the owner's colours stand, and the fonts.
type Theme = (Vec<keyfile::Place>, [Option<FontFile>; 2]);

/// Where the parts of a panel stand: the fields of [`PanelFile`].
#[derive(Default)]
struct Places {
    lines: Vec<InstrumentLines>,
    theme: Theme,
    lamp_channels: ChannelPlaces,
    limit_channels: ChannelPlaces,
    condition_channels: ChannelPlaces,
    phase_channels: ChannelPlaces,
    engine_channels: ChannelPlaces,
    limits: Vec<keyfile::Place>,
    banner: Option<keyfile::Place>,
    tones: Vec<Tone>,
}

fn panel(mut top: Section<'_>, folder: &Path) -> (Panel, Places) {
    let mut panel = Panel { title: top.text("title").map(|t| t.0).unwrap_or_default(), ..Panel::default() };
    let mut places = Places::default();
    if let Some(table) = top.section("theme") {
        places.theme = theme::read(table, folder, &mut panel);
    }
    if let Some(mut layout) = top.section("layout") {
        let density = layout.word("density", &[("house", Density::House), ("phone", Density::Phone)]);
        panel.density = density.map(|d| d.0).unwrap_or_default();
        layout.end();
    }
    let mut names = HashSet::new();
    for section in top.sections("instrument") {
        if let Some((read, place)) = instrument(section, &mut names, &mut places.condition_channels) {
            panel.instruments.push(read);
            places.lines.push(place);
        }
    }
    panel.lamps = lamps::lamps(top.sections("lamp"), &mut names, &mut places.lamp_channels);
    let judged: Vec<&str> = panel.instruments.iter().filter_map(|i| i.face.judged_rotor()).collect();
    let limits = lamps::limits(top.sections("limit"), &mut names, &mut places.limit_channels, &judged);
    (panel.limits, places.limits) = limits.into_iter().unzip();
    if let Some(section) = top.section("phases") {
        let rules;
        (rules, places.phase_channels) = phases::rules(section);
        panel.phases = Some(rules);
    }
    if let Some(section) = top.section("engine") {
        (panel.engine, places.engine_channels) = rules::engine(section);
    }
    if let Some(section) = top.section("events") {
        panel.events = rules::events(section);
    }
    rules::together(&top, &panel, &places.limits);
    if let Some(section) = top.section("banner") {
        places.banner = Some(section.place());
        panel.banner = Some(lamps::banner(section));
    }
    places.tones = top.sections("tone").into_iter().filter_map(tones::tone).collect();
    panel.lamps_from_bottom_m = top.section("lamps").and_then(lamps::row);
    panel.keep_clear = top.sections("keep_clear").into_iter().filter_map(keep_clear).collect();
    top.end();
    (panel, places)
}

/// The name of a table, which no other table of the file may have.
fn name(section: &mut Section<'_>, names: &mut HashSet<String>) -> Option<String> {
    let Some((name, place)) = section.text("name") else {
        section.missing("name", "every table has a name of its own, e.g. name = \"airspeed\"");
        return None;
    };
    let plain = |c: char| c.is_alphanumeric() || c == '_' || c == '-' || c == ' ';
    if name.is_empty() || !name.chars().all(plain) {
        let message = format!("the name \"{name}\" is not made of letters, digits, blanks, _ and - alone");
        section.fault(place, "name", "bad_name", message, "it becomes the head of a column: keep it plain");
        return None;
    }
    if !names.insert(name.clone()) {
        section.fault(
            place,
            "name",
            "name_twice",
            format!("the name \"{name}\" is taken already"),
            "give it another name",
        );
        return None;
    }
    Some(name)
}

fn channel(section: &mut Section<'_>) -> Option<(String, keyfile::Place)> {
    let channel = section.text("channel");
    if channel.is_none() {
        section.missing("channel", "the log and its column, e.g. channel = \"air.IAS\"");
    }
    channel
}

/// An instrument with what all kinds have in common: when it is shown, its usual ranges, its smoothing.
fn instrument(
    mut section: Section<'_>,
    names: &mut HashSet<String>,
    conditions: &mut ChannelPlaces,
) -> Option<(Instrument, InstrumentLines)> {
    let common = shown::Common::read(&mut section, conditions);
    let (mut instrument, lines) = of_a_kind(section, names)?;
    common.give(&mut instrument);
    Some((instrument, lines))
}

fn of_a_kind(mut section: Section<'_>, names: &mut HashSet<String>) -> Option<(Instrument, InstrumentLines)> {
    let head = section.place();
    let name = name(&mut section, names);
    let kinds = [
        ("dial", Kind::Dial),
        ("tile", Kind::Tile),
        ("tachometer", Kind::Tachometer),
        ("vertical_speed", Kind::VerticalSpeed),
        ("altimeter", Kind::Altimeter),
        ("bar", Kind::Bar),
        ("pair", Kind::Pair),
        ("heading", Kind::Heading),
        ("heading_tape", Kind::HeadingTape),
        ("compass", Kind::Compass),
        ("tape", Kind::Tape),
        ("clock", Kind::Clock),
        ("strip", Kind::Strip),
        ("attitude", Kind::Attitude),
        ("controls", Kind::Controls),
        ("slip", Kind::Slip),
        ("track", Kind::Track),
        ("phase_strip", Kind::PhaseStrip),
        ("legend", Kind::Legend),
    ];
    let kind = section.word("kind", &kinds).map(|k| k.0);
    let is_dial = match kind {
        Some(Kind::Tachometer) => return tachometer::read(section, head, name),
        Some(Kind::VerticalSpeed) => return vertical_speed::read(section, head, name),
        Some(Kind::Altimeter) => return altimeter::read(section, head, name),
        Some(Kind::Bar) => return plates::bar(section, head, name),
        Some(Kind::Tape) => return plates::tape(section, head, name),
        Some(Kind::Pair) => return pair::read(section, head, name),
        Some(Kind::Heading) => return heading::read(section, head, name, heading::On::Card),
        Some(Kind::HeadingTape) => return heading::read(section, head, name, heading::On::Tape),
        Some(Kind::Compass) => return heading::read(section, head, name, heading::On::Compass),
        Some(Kind::Strip) => return strip::read(section, head, name),
        Some(Kind::Attitude) => return motion::attitude(section, head, name),
        Some(Kind::Controls) => return motion::controls(section, head, name),
        Some(Kind::Slip) => return motion::slip(section, head, name),
        Some(Kind::Track) => return motion::track(section, head, name),
        Some(Kind::PhaseStrip) => return phases::strip(section, head, name),
        Some(Kind::Legend) => return legend::read(section, head, name),
        Some(Kind::Clock) => return clock::read(section, head, name),
        Some(Kind::Tile) => Some(false),
        Some(Kind::Dial) => Some(true),
        None => {
            section.missing("kind", "\"dial\", \"tile\" or another kind of instrument");
            None
        }
    };
    let channel = channel(&mut section);
    let title: Option<Vec<String>> = section.texts("title").map(|t| t.into_iter().map(|(text, _)| text).collect());
    let (unit, unit_place) = section.text("unit").unwrap_or((String::new(), head.clone()));
    let unit_known = unit.is_empty() || known_unit(&section, &unit, unit_place.clone());
    let decimals = decimals(&mut section);
    let place = place(&mut section);
    // Both are asked for whatever the kind, so that a dial's key on a tile is named as what it is.
    let scale_table = section.section("scale");
    if is_dial == Some(false) {
        let stray = scale_table.as_ref().map(|s| (s.place(), "scale"));
        if let Some((place, key)) = stray.or(section.sections("marking").first().map(|s| (s.place(), "marking"))) {
            section.fault(
                place,
                key,
                "not_for_a_tile",
                format!("a tile has no `{key}`"),
                "take it out, or make it a dial",
            );
        }
    }
    let wants_scale = is_dial.unwrap_or(scale_table.is_some());
    let scale = if wants_scale { scale::read(&section, scale_table) } else { None };
    let markings = marking::all(&mut section, name.as_deref(), scale.as_ref().map(Scale::ends));
    section.end();

    let (name, (channel, channel_place), (place, place_at)) = (name?, channel?, place?);
    let (is_dial, decimals) = (is_dial?, decimals?);
    if !unit_known {
        return None;
    }
    let title = title.unwrap_or_else(|| vec![name.to_uppercase()]);
    let face = if is_dial {
        Face::Dial(Dial { channel, title, unit, decimals, scale: scale?, markings: markings? })
    } else {
        Face::Tile(Tile { channel, title: title.join(" "), unit, decimals })
    };
    let lines =
        InstrumentLines { head, channels: vec![channel_place], unit: unit_place, place: place_at, others: Vec::new() };
    Some((Instrument::new(name, place, face), lines))
}

/// The kinds of instrument.
#[derive(Clone, Copy)]
enum Kind {
    Dial,
    Tile,
    Tachometer,
    VerticalSpeed,
    Altimeter,
    Bar,
    Pair,
    Heading,
    HeadingTape,
    Compass,
    Tape,
    Clock,
    Strip,
    Attitude,
    Controls,
    Slip,
    Track,
    PhaseStrip,
    Legend,
}

/// Own diameters that can be read and that leave room for the film, in modules.
const OWN_SIZES: std::ops::RangeInclusive<f64> = 0.1..=0.6;
const SLOTS: [(&str, Slot); 5] = [
    ("left", Slot::Left),
    ("right", Slot::Right),
    ("inner left", Slot::InnerLeft),
    ("inner right", Slot::InnerRight),
    ("foot", Slot::Foot),
];

/// Digits after the point, none unless it is said; nothing if what is said is no such number.
fn decimals(section: &mut Section<'_>) -> Option<u8> {
    match section.number("decimals") {
        Some((d, place)) if !(0.0..=6.0).contains(&d) || d.fract() != 0.0 => {
            let message = format!("`decimals` is {d}; expected a whole number from 0 to 6");
            section.fault(place, "decimals", "out_of_range", message, "0 writes whole numbers");
            None
        }
        decimals => Some(decimals.map_or(0, |d| d.0 as u8)),
    }
}

fn known_unit(section: &Section<'_>, unit: &str, place: keyfile::Place) -> bool {
    match Unit::parse(unit) {
        Ok(_) => true,
        Err(error) => {
            section.fault(place, "unit", "unknown_unit", error.to_string(), "leave `unit` out if the value has none");
            false
        }
    }
}

/// Reads `place`: a side and distances from it, or a slot of the house layout.
fn place(section: &mut Section<'_>) -> Option<(Placing, keyfile::Place)> {
    let Some(mut table) = section.section("place") else {
        let expected =
            "where it stands, e.g. place = { side = \"left\", from_side = 0.172, from_bottom = 0.172, size = \"XL\" }";
        section.missing("place", expected);
        return None;
    };
    let at = table.place();
    let size = size(&mut table);
    if table.has("slot") {
        let slot = table.word("slot", &SLOTS);
        table.end();
        return Some((Placing::Slot(slot?.0, size?), at));
    }
    let side = table.word("side", &[("left", Side::Left), ("right", Side::Right), ("centre", Side::Centre)]);
    let (from_side, from_bottom) = (table.number("from_side"), table.number("from_bottom"));
    for (key, there, expected) in [
        ("side", side.is_some(), "left, right or centre"),
        (
            "from_side",
            from_side.is_some(),
            "the distance of its middle from that side, in modules (the height of a landscape picture)",
        ),
        ("from_bottom", from_bottom.is_some(), "the distance of its middle from the bottom, in modules"),
    ] {
        if !there {
            table.missing(key, expected);
        }
    }
    table.end();
    let place = Place { side: side?.0, from_side_m: from_side?.0, from_bottom_m: from_bottom?.0, size: size? };
    Some((Placing::At(place), at))
}

/// One of the house's sizes, or a diameter in modules.
fn size(table: &mut Section<'_>) -> Option<DiscSize> {
    if table.is_number("size") {
        let (diameter, place) = table.number("size")?;
        if !OWN_SIZES.contains(&diameter) {
            let (least, most) = (OWN_SIZES.start(), OWN_SIZES.end());
            let message = format!("`size` is {diameter}; expected a diameter of {least} to {most} picture heights");
            table.fault(place, "size", "out_of_range", message, "or take XL, L, M or S");
            return None;
        }
        return Some(DiscSize::Own(diameter));
    }
    let size = table.word("size", &[("XL", DiscSize::Xl), ("L", DiscSize::L), ("M", DiscSize::M), ("S", DiscSize::S)]);
    if size.is_none() {
        table.missing("size", "XL, L, M or S, or a diameter in picture heights");
    }
    size.map(|size| size.0)
}

fn keep_clear(mut section: Section<'_>) -> Option<KeepClear> {
    let name = section.text("name").map(|n| n.0).unwrap_or_default();
    let mut share = |key: &'static str| match section.number(key) {
        Some((v, _)) if (0.0..=1.0).contains(&v) => Some(v),
        Some((v, place)) => {
            let message = format!("`{key}` is {v}; expected a fraction of the picture, 0 to 1");
            section.fault(place, key, "out_of_range", message, "divide pixels by the picture's width or height");
            None
        }
        None => {
            section.missing(key, "a fraction of the picture, from its left and its top");
            None
        }
    };
    let (x, y, width, height) = (share("x"), share("y"), share("width"), share("height"));
    section.end();
    Some(KeepClear { name, x: x?, y: y?, width: width?, height: height? })
}
