//! The table `[theme]`: the theme's name, colours in place of its own, and the owner's own fonts.

use super::{FontFile, Theme};
use crate::keyfile::{self, Section};
use crate::panel::{ColourOf, OwnColour, Panel, ThemeName};
use std::path::Path;

/// Reads the table into the panel; the fonts' paths are relative to `folder`.
pub(super) fn read(mut theme: Section<'_>, folder: &Path, panel: &mut Panel) -> Theme {
    let names = [
        ("graphite", ThemeName::Graphite),
        ("porcelain", ThemeName::Porcelain),
        ("high-contrast", ThemeName::HighContrast),
    ];
    panel.theme = theme.word("name", &names).map(|w| w.0);
    let colours;
    (panel.colours, colours) = theme.section("colours").map(own_colours).unwrap_or_default().into_iter().unzip();
    let mut font =
        |key: &'static str| theme.text(key).map(|(file, place)| FontFile { file: folder.join(file), place, key });
    let (regular, bold) = (font("font"), font("bold"));
    if let (None, Some(bold)) = (&regular, &bold) {
        let message = "`bold` is the companion of `font`, which is not there";
        let cure = "add font = \"...\"; it may be the same file";
        theme.fault(bold.place.clone(), "bold", "bold_without_font", message, cure);
    }
    theme.end();
    (colours, [regular, bold])
}

/// The colours of the owner's own, written as `#rrggbb`.
fn own_colours(mut table: Section<'_>) -> Vec<(OwnColour, keyfile::Place)> {
    let mut colours = Vec::new();
    for (key, of) in ColourOf::ALL {
        let Some((text, place)) = table.text(key) else { continue };
        match hex(&text) {
            Some(rgb) => colours.push((OwnColour { of, rgb }, place)),
            None => {
                let message = format!("`{key}` is \"{text}\"; expected a colour as # and six hexadecimal digits");
                table.fault(place, key, "bad_colour", message, "write for example \"#f7f5ef\"");
            }
        }
    }
    table.end();
    colours
}

fn hex(text: &str) -> Option<[u8; 3]> {
    let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6 && digits.is_ascii())?;
    let [_, r, g, b] = u32::from_str_radix(digits, 16).ok()?.to_be_bytes();
    digits.bytes().all(|b| b.is_ascii_hexdigit()).then_some([r, g, b])
}
