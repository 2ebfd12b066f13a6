//! The text of a new panel file: the panel that is made without a file, with reasons, and no limits.

use super::new::Found;
use super::new_flight::{Text, quoted};
use crate::panel::{ChannelFacts, written};
use crate::readout::facts;

/// The panel file.
pub(super) fn text(found: &Found) -> String {
    let facts = facts(&found.session);
    let mut text = Text::default();
    text.comment(
        "A panel file, made from the channels of the logs. Scales come from what was recorded, rounded; machine dials are turned so \
         that the usual value stands at twelve. No limit, marking or lamp stands here: they are yours alone, from the flight manual.",
    );
    text.comment(
        "Instruments stand in slots and make room for each other: left and right climb the edges, inner left and inner right stand \
         beside them, plates go to the foot. Sizes: XL, L, M, S.",
    );
    let mut shown: Vec<&str> = Vec::new();
    for instrument in &found.panel.instruments {
        let Some(table) = written(instrument) else { continue };
        text.line("");
        for hand in instrument.face.hands() {
            shown.push(hand.channel);
            let fact = facts.iter().find(|fact| fact.channel == hand.channel);
            fact.iter().for_each(|fact| text.comment(&reason(fact, found.any_recognised)));
        }
        text.0.push_str(&table);
    }
    if !found.no_room.is_empty() {
        text.line("");
        text.comment(&format!("No room on a picture of this shape: {}.", found.no_room.join(", ")));
    }
    let others: Vec<String> = facts.iter().filter(|f| !shown.contains(&&*f.channel)).map(other).collect();
    if !others.is_empty() {
        text.line("");
        text.comment(&format!("Channels that could stand here as well: {}.", others.join("; ")));
        text.line("# [[instrument]]");
        text.line("# name = \"...\"");
        text.line("# kind = \"tile\"");
        text.line("# channel = \"...\"");
        text.line("# place = { slot = \"foot\", size = \"M\" }");
    }
    limits(shown.first().copied(), &mut text);
    text.0
}

/// Why a channel became this instrument.
fn reason(fact: &ChannelFacts, recognised: bool) -> String {
    let unit = fact.unit.as_deref().map_or_else(|| "no unit stated".to_owned(), |unit| format!("in {unit}"));
    let (low, high, usual) = (short(fact.min), short(fact.max), short(fact.usual));
    let why = if recognised { "by its column's name and unit" } else { "no column is recognised, and this one moves" };
    format!("{}: {why} ({unit}); recorded from {low} to {high}, mostly about {usual}", fact.channel)
}

fn other(fact: &ChannelFacts) -> String {
    let unit = fact.unit.as_deref().map(|unit| format!(" [{unit}]")).unwrap_or_default();
    format!("{}{unit}", fact.channel)
}

fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// How markings, limits and lamps are written: without one number.
fn limits(channel: Option<&str>, text: &mut Text) {
    let channel = quoted(channel.unwrap_or("LOG.COLUMN"));
    text.line("");
    text.comment(
        "Markings, limits and lamps, to be filled in from the flight manual, which governs; jumpseat knows no limits of any aircraft. \
         A marking stands below its instrument's table.",
    );
    for line in [
        "# [[instrument.marking]]",
        "# kind = \"normal\"                # normal, precaution, forbidden: from and to; limit, reference: at",
        "# from = ...",
        "# to = ...",
        "# source = \"flight manual, ...\"",
        "#",
        "# [[limit]]",
        "# name = \"...\"",
    ] {
        text.line(line);
    }
    text.line(&format!("# channel = {channel}"));
    for line in [
        "# above = ...                     # or below, in the channel's unit",
        "# for = ...                       # seconds without a break",
        "# severity = \"...\"                # warning, caution, advisory",
        "# subject = \"...\"",
        "# source = \"flight manual, ...\"",
        "#",
        "# [[lamp]]                        # a column that records whether the lamp was lit",
        "# name = \"...\"",
        "# channel = \"...\"",
        "# subject = \"...\"",
        "# lit = \"...\"",
        "# severity = \"...\"                # warning, caution, in transit, advisory, normal",
    ] {
        text.line(line);
    }
}
