//! What may be hard to see on an owner's panel, in words: remarks by name, none of which stands in the way.

use super::load::at;
use crate::draw::Look;
use crate::draw::advice::{self, Alike, LEAST_DIFFERENCE, LEAST_MINUTES, SmallText, Text};
use crate::finding::Severity;
use crate::keyfile::Fault;
use crate::panel::file::PanelFile;
use crate::panel::{DiscSize, Marking};
use crate::pixel::FrameShape;

/// Everything that can be said of a panel on pictures of this shape.
pub(crate) fn remarks(owners: &PanelFile, shape: FrameShape, look: Look) -> Vec<Fault> {
    let size = shape.shown_size();
    let small = small_on_a_phone(owners, &advice::small_on_a_phone(&owners.panel, size, look));
    let alike = advice::alike(&owners.panel, size, look).into_iter().map(|pair| markings_alike(owners, &pair));
    small.into_iter().chain(alike).collect()
}

/// One remark for the whole panel: on a phone some text is small on almost every panel.
fn small_on_a_phone(owners: &PanelFile, small: &[SmallText]) -> Option<Fault> {
    let angle = |text: &Text| format!("{:.1}'", text.minutes);
    let value = |s: &SmallText| s.value.as_ref().map(|text| format!("{} ({})", s.instrument, angle(text)));
    let lettering = |s: &SmallText| {
        s.lettering.as_ref().map(|text| format!("{} (\u{201c}{}\u{201d} {})", s.instrument, text.text, angle(text)))
    };
    let larger = |s: &SmallText| s.cure.map(|(size, angle)| format!("{} {} ({angle:.1}')", s.instrument, letter(size)));
    let list = |of: &dyn Fn(&SmallText) -> Option<String>| small.iter().filter_map(of).collect::<Vec<_>>().join(", ");
    let (values, letters, cures) = (list(&value), list(&lettering), list(&larger));
    let first = small.iter().find(|s| s.value.is_some()).or(small.first())?;
    let mut message = format!(
        "small on a phone (a picture {} mm high, seen from {} mm): text wants {LEAST_MINUTES} minutes of arc",
        advice::PHONE_SIDE_MM,
        advice::PHONE_DISTANCE_MM
    );
    for (what, which) in [("values", values), ("names, units or numerals, down to", letters)] {
        if !which.is_empty() {
            message += &format!("; {what}: {which}");
        }
    }
    let cure = match &*cures {
        "" => "known by their place; a larger size helps a little".to_owned(),
        sizes => format!("a larger size brings the value there: {sizes}"),
    };
    let lines = owners.panel.instruments.iter().position(|i| i.name == first.instrument);
    let place = lines.and_then(|i| owners.lines.get(i)).map_or(0..0, |lines| lines.place.clone());
    Some(at(&owners.document, &place, Severity::Note, "small_on_a_phone", "place", message, &cure))
}

const fn letter(size: DiscSize) -> &'static str {
    match size {
        DiscSize::Xl => "XL",
        DiscSize::L => "L",
        DiscSize::M => "M",
        DiscSize::S => "S",
        DiscSize::Own(_) => "of its own",
    }
}

fn markings_alike(owners: &PanelFile, pair: &Alike) -> Fault {
    let message = format!(
        "on `{}`, {} and {} have one shape, and colours that lie {:.0} apart for {} (at least {LEAST_DIFFERENCE} wanted)",
        pair.instrument,
        words(pair.lower),
        words(pair.upper),
        pair.difference,
        pair.vision.name()
    );
    let i = owners.panel.instruments.iter().position(|i| i.name == pair.instrument);
    let place = i.and_then(|i| owners.lines.get(i)).map_or(0..0, |lines| lines.head.clone());
    let cure = "choose other colours in [theme], a longer range, or a larger size: then it is drawn in blocks";
    at(&owners.document, &place, Severity::Warning, "markings_alike", "marking", message, cure)
}

fn words(marking: Marking) -> String {
    match marking {
        Marking::Normal { from, to } => format!("normal {from} to {to}"),
        Marking::Precaution { from, to } => format!("precaution {from} to {to}"),
        Marking::Forbidden { from, to } => format!("forbidden {from} to {to}"),
        Marking::Limit { at } => format!("the limit {at}"),
        Marking::Reference { at } => format!("the reference {at}"),
    }
}
