//! A panel that was made from channels, as the text of a panel file that reads back the same.

use std::fmt::{Display, Write};

use crate::panel::{Datum, DiscSize, Face, Gauge, Instrument, Placing, Scale, Slot};

/// The table `[[instrument]]` of an instrument that stands in a slot, without markings; none for kinds and places that no
/// panel made from channels has.
pub fn written(instrument: &Instrument) -> Option<String> {
    let Placing::Slot(slot, size) = instrument.place else { return None };
    let mut table = Table { text: "[[instrument]]\n".to_owned() };
    table.texts("name", &instrument.name);
    match &instrument.face {
        Face::Dial(dial) => {
            table.texts("kind", "dial");
            table.texts("channel", &dial.channel);
            table.key("title", list(dial.title.iter().map(|line| quoted(line))));
            table.shown(&dial.unit, dial.decimals);
            table.place(slot, size);
            table.scale(&dial.scale);
        }
        Face::Tile(tile) => {
            table.texts("kind", "tile");
            table.texts("channel", &tile.channel);
            table.texts("title", &tile.title);
            table.shown(&tile.unit, tile.decimals);
            table.place(slot, size);
        }
        Face::Tachometer(tachometer) => {
            table.texts("kind", "tachometer");
            table.texts("rotor", &tachometer.rotor);
            table.texts("engine", &tachometer.engine);
            table.texts("title", &tachometer.title);
            table.shown("", tachometer.decimals);
            table.place(slot, size);
            table.scale(&tachometer.scale);
        }
        Face::VerticalSpeed(dial) => {
            table.texts("kind", "vertical_speed");
            table.texts("channel", &dial.channel);
            table.texts("unit", &dial.unit);
            table.key("range", number(dial.scale.ends().1));
            table.place(slot, size);
        }
        Face::Altimeter(altimeter) => {
            table.texts("kind", "altimeter");
            table.texts("channel", &altimeter.channel);
            if altimeter.datum == Datum::Pressure {
                table.texts("datum", "pressure");
            }
            table.place(slot, size);
        }
        Face::Pair(pair) => {
            table.texts("kind", "pair");
            table.texts("title", &pair.title);
            table.place(slot, size);
            for (side, gauge) in [("left", &pair.left), ("right", &pair.right)] {
                table.gauge(side, gauge);
            }
        }
        _ => return None,
    }
    Some(table.text)
}

struct Table {
    text: String,
}

impl Table {
    fn key(&mut self, key: &str, value: impl Display) {
        // Writing to a String cannot fail.
        let _ = writeln!(self.text, "{key} = {value}");
    }

    fn texts(&mut self, key: &str, text: &str) {
        self.key(key, quoted(text));
    }

    /// What is left out is read as nothing, and as no decimals.
    fn shown(&mut self, unit: &str, decimals: u8) {
        if !unit.is_empty() {
            self.texts("unit", unit);
        }
        if decimals > 0 {
            self.key("decimals", decimals);
        }
    }

    fn place(&mut self, slot: Slot, size: DiscSize) {
        let slot = match slot {
            Slot::Left => "left",
            Slot::Right => "right",
            Slot::InnerLeft => "inner left",
            Slot::InnerRight => "inner right",
            Slot::Foot => "foot",
        };
        let size = match size {
            DiscSize::Xl => quoted("XL"),
            DiscSize::L => quoted("L"),
            DiscSize::M => quoted("M"),
            DiscSize::S => quoted("S"),
            DiscSize::Own(diameter) => number(diameter),
        };
        self.key("place", format!("{{ slot = {}, size = {size} }}", quoted(slot)));
    }

    fn scale(&mut self, scale: &Scale) {
        let points = scale.breakpoints.iter().map(|(value, angle)| format!("[{}, {}]", number(*value), number(*angle)));
        self.key("scale.breakpoints", list(points));
        let steps = [("long", scale.ticks.long), ("middle", scale.ticks.middle), ("short", scale.ticks.short)];
        let steps =
            steps.into_iter().filter(|(_, step)| *step > 0.0).map(|(key, step)| format!("{key} = {}", number(step)));
        self.key("scale.ticks", format!("{{ {} }}", steps.collect::<Vec<_>>().join(", ")));
        self.key("scale.numerals", list(scale.numerals.iter().map(|(value, _)| number(*value))));
        if scale.numerals.iter().any(|(value, text)| *text != number(*value)) {
            self.key("scale.numerals_text", list(scale.numerals.iter().map(|(_, text)| quoted(text))));
        }
    }

    fn gauge(&mut self, side: &str, gauge: &Gauge) {
        let _ = writeln!(self.text, "[instrument.{side}]");
        self.texts("channel", &gauge.channel);
        self.texts("letter", &gauge.letter);
        self.shown(&gauge.unit, gauge.decimals);
        self.scale(&gauge.scale);
    }
}

/// A text as TOML writes it, whatever it holds.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A number to a millionth: far finer than what can be seen, and free of the last places of sums.
fn number(value: f64) -> String {
    let rounded = (value * 1e6).round() / 1e6;
    // Small scales need the digits that they have; adding zero takes the sign from a zero.
    format!("{}", if rounded.abs() < 0.01 { value } else { rounded } + 0.0)
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::keyfile::Document;
    use crate::panel::{Arrangement, ChannelFacts, Density, Panel, file, recognised, slotted};

    fn facts(column: &str, unit: Option<&str>, min: f64, max: f64) -> ChannelFacts {
        let (channel, column) = (format!("log.{column}"), column.to_owned());
        ChannelFacts { channel, column, unit: unit.map(Into::into), min, max, usual: 0.61 * max }
    }

    /// The panel as text and back.
    fn read_back(panel: &Panel) -> Panel {
        let text: String = panel.instruments.iter().map(|i| written(i).unwrap() + "\n").collect();
        let read = file::read(Document::of(std::path::Path::new("panel.toml"), text));
        assert!(read.faults.is_empty(), "{}\n{:?}", read.document.text, read.faults);
        read.panel
    }

    /// Scales to a millionth, so that angles may be rounded; the rest must be equal.
    fn same(a: &Instrument, b: &Instrument) {
        let scales = |face: &Face| match face {
            Face::Dial(d) => vec![d.scale.clone()],
            Face::Tachometer(t) => vec![t.scale.clone()],
            Face::VerticalSpeed(v) => vec![v.scale.clone()],
            Face::Pair(p) => vec![p.left.scale.clone(), p.right.scale.clone()],
            _ => Vec::new(),
        };
        let strip = |instrument: &Instrument| {
            let mut bare = instrument.clone();
            match &mut bare.face {
                Face::Dial(d) => d.scale = Scale::default(),
                Face::Tachometer(t) => t.scale = Scale::default(),
                Face::VerticalSpeed(v) => v.scale = Scale::default(),
                Face::Pair(p) => (p.left.scale, p.right.scale) = Default::default(),
                _ => {}
            }
            bare
        };
        assert_eq!(strip(a), strip(b));
        for (one, other) in scales(&a.face).iter().zip(scales(&b.face)) {
            let near = |x: f64, y: f64| (x - y).abs() <= 1e-6 * x.abs().max(1.0);
            assert!(one.breakpoints.len() == other.breakpoints.len() && one.numerals.len() == other.numerals.len());
            for (p, q) in one.breakpoints.iter().zip(&other.breakpoints) {
                assert!(near(p.0, q.0) && near(p.1, q.1), "{p:?} {q:?}");
            }
            for (p, q) in one.numerals.iter().zip(&other.numerals) {
                assert!(near(p.0, q.0) && p.1 == q.1, "{p:?} {q:?}");
            }
            let ticks = |s: &Scale| [s.ticks.long, s.ticks.middle, s.ticks.short];
            assert!(ticks(one).iter().zip(ticks(&other)).all(|(p, q)| near(*p, q)), "{one:?} {other:?}");
        }
    }

    #[test]
    fn every_made_panel_reads_back_the_same() {
        let all = [
            facts("IAS", Some("kt"), 0.0, 87.0),
            facts("Rotor", Some("%"), 0.0, 104.0),
            facts("Engine", Some("%"), 0.0, 104.0),
            facts("Pressure Altitude", Some("ft"), 0.0, 1900.0),
            facts("Vertical Speed", Some("m/s"), -5.0, 6.0),
            facts("EGT", Some("\u{b0}C"), 12.0, 703.0),
            facts("Fuel Flow", Some("US gal/h"), 0.0, 13.9),
            facts("Oil P", Some("bar"), 0.0, 5.4),
            facts("Oil T", Some("\u{b0}C"), 12.0, 96.0),
            facts("Volts", Some("V"), 23.0, 28.3),
            facts("Heading", Some("deg"), 0.0, 360.0),
        ];
        let alone = [facts("RPM", None, 0.0, 2735.0), facts("Indicated Altitude", Some("ft"), 0.0, 900.0)];
        let small = [
            facts("odd \"name\"", Some("V"), -0.0003, 0.004),
            facts("odd 'name'", None, 0.0, 7.0),
            facts("n\u{e9}\\", None, 1.0, 2.0),
        ];
        for (width, height) in [(1920.0, 1080.0), (1080.0, 1920.0)] {
            let arrangement = Arrangement::of(width, height, Density::House);
            for (channels, count) in [(&all[..], 9), (&alone[..], 2), (&small[..], 3)] {
                let panel = slotted(channels, arrangement);
                assert_eq!(panel.instruments.len(), count, "{panel:?}");
                let back = read_back(&panel);
                assert_eq!(back.instruments.len(), count);
                panel.instruments.iter().zip(&back.instruments).for_each(|(a, b)| same(a, b));
                // But for the places, it is the panel that is made without a file.
                for made in recognised(channels, arrangement).panel.instruments {
                    let twin = back.instruments.iter().find(|i| i.name == made.name).unwrap();
                    same(&Instrument { place: twin.place, ..made }, twin);
                }
            }
        }
    }
}
