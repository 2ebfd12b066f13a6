//! The table `[theme]`: the theme's name, colours of markings, and the owner's own fonts.

use super::FontFile;
use crate::keyfile::Section;
use crate::panel::{Colours, Panel, ThemeName};
use std::path::Path;

/// Reads the table into the panel; hands back the fonts, whose paths are relative to `folder`: the regular one, then the bold.
pub(super) fn read(mut theme: Section<'_>, folder: &Path, panel: &mut Panel) -> [Option<FontFile>; 2] {
    let names = [
        ("graphite", ThemeName::Graphite),
        ("porcelain", ThemeName::Porcelain),
        ("high-contrast", ThemeName::HighContrast),
    ];
    panel.theme = theme.word("name", &names).map(|w| w.0);
    panel.colours = Colours {
        normal: colour(&mut theme, "normal"),
        precaution: colour(&mut theme, "precaution"),
        limit: colour(&mut theme, "limit"),
    };
    let mut font = |key: &'static str| theme.text(key).map(|(file, place)| FontFile { file: folder.join(file), place, key });
    let (regular, bold) = (font("font"), font("bold"));
    if let (None, Some(bold)) = (&regular, &bold) {
        let message = "`bold` is the companion of `font`, which is not there";
        theme.fault(bold.place.clone(), "bold", "bold_without_font", message, "add font = \"...\"; it may be the same file");
    }
    theme.end();
    [regular, bold]
}

/// `#57d98a`: red, green and blue.
fn colour(theme: &mut Section<'_>, key: &'static str) -> Option<[u8; 3]> {
    let (text, place) = theme.text(key)?;
    let digits = text.strip_prefix('#').filter(|d| d.len() == 6 && d.bytes().all(|b| b.is_ascii_hexdigit()));
    match digits.and_then(|d| u32::from_str_radix(d, 16).ok()) {
        Some(rgb) => {
            let [_, r, g, b] = rgb.to_be_bytes();
            Some([r, g, b])
        }
        None => {
            let message = format!("`{key}` is \"{text}\"; expected a colour as six hexadecimal digits");
            theme.fault(place, key, "bad_colour", message, "write red, green and blue as in \"#57d98a\"");
            None
        }
    }
}
