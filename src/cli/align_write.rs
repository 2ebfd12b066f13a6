//! `jumpseat align --write`: the fits as tables of the flight file, whose text stays as it is but for them.

use super::Failure;
use super::align::{Row, summary};
use super::load::Loaded;
use super::panel::write_with;
use std::io::Write;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

/// Puts each film's fit on the reference log into the file, in place of fits that were there.
pub(super) fn write(loaded: &Loaded, rows: &[Row]) -> Result<(), Failure> {
    let file = &loaded.flight.document.file;
    let unfit = |e: &dyn std::fmt::Display| Failure::input(format!("{}: {e}", file.display()));
    let mut document: DocumentMut = loaded.flight.document.text.parse().map_err(|e| unfit(&e))?;
    let clock = document.entry("clock").or_insert_with(|| {
        let mut table = Table::new();
        table.set_implicit(true);
        Item::Table(table)
    });
    let clock = clock.as_table_mut().ok_or_else(|| unfit(&"`clock` is no table"))?;
    let mut fits = ArrayOfTables::new();
    for row in rows.iter().filter(|row| row.log == loaded.reference()) {
        if let (Some(film), Some(fit)) = (row.film, &row.fit) {
            let used = fit.evidence.iter().filter(|e| e.used).count();
            let comment = format!(
                "\n# Written by jumpseat align from {used} of {} pieces of evidence, and used in their place; take it out to have it\n\
                 # computed. {}\n",
                fit.evidence.len(),
                summary(fit, row.span)
            );
            let mut table = Table::new();
            table.decor_mut().set_prefix(comment);
            table["film"] = value(loaded.flight.films[film].name.as_str());
            table["log"] = value(loaded.session.logs()[row.log].name.as_str());
            // A hundredth of a millisecond, and a thousandth of a part in a million.
            table["offset"] = value(rounded(fit.offset_s(), 1e5));
            table["rate"] = value(rounded(fit.rate, 1e9));
            table["pivot"] = value(rounded(fit.pivot_s, 1e3));
            table["sigma"] = value(rounded(fit.cov[0][0].sqrt(), 1e5));
            table["sigma_rate"] = value(rounded(fit.cov[1][1].sqrt(), 1e9));
            fits.push(table);
        }
    }
    if fits.is_empty() {
        return Err(Failure::input(format!(
            "{}: no film is joined to the logs; there is no fit to write",
            file.display()
        )));
    }
    clock["fit"] = Item::ArrayOfTables(fits);
    write_with(file, true, &[], |out| out.write_all(document.to_string().as_bytes()))
}

fn rounded(number: f64, parts: f64) -> f64 {
    (number * parts).round() / parts
}
