//! Numbers that stand for "nothing": named by the owner, or found.
//!
//! Rule (common practice, no source). One of the numbers below is a placeholder where it is the least or the greatest of
//! its column and lies farther from its neighbour than all others lie apart, or where the column holds nothing else.

use super::marks::{Marks, value};

/// What programs write where they have no value: nines, and the ends of whole numbers of 16 and 32 bits.
const USUAL: [f64; 17] = [
    -999.0,
    -9999.0,
    -99999.0,
    -999.9,
    -999.99,
    -9999.9,
    9999.0,
    99999.0,
    999_999.0,
    9999.9,
    32_767.0,
    -32_768.0,
    65_535.0,
    2_147_483_647.0,
    -2_147_483_648.0,
    4_294_967_295.0,
    999_999_999.0,
];

/// A placeholder that the owner named.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Named {
    text: Vec<u8>,
    value: Option<f64>,
}

impl Named {
    pub(super) fn of(text: &str) -> Self {
        Self { text: text.trim().as_bytes().to_vec(), value: value(text.trim().as_bytes(), Marks::Point) }
    }

    /// Whether a cell, with the number that it writes, is this one.
    pub(super) fn is(&self, cell: &[u8], number: Option<f64>) -> bool {
        cell == self.text || (number.is_some() && number == self.value)
    }
}

/// A placeholder that was found.
pub(super) struct Found {
    pub(super) value: f64,
    /// Indices of its rows.
    pub(super) rows: Vec<usize>,
    /// The least and the greatest of the other values.
    pub(super) others: Option<(f64, f64)>,
}

/// Makes NaN of the cells that hold a placeholder. Only the rows kept are looked at.
pub(super) fn take_out(values: &mut [f64], kept: Option<&[usize]>) -> Option<Found> {
    let ends = |not: Option<f64>| match kept {
        Some(kept) => ends(kept.iter().map(|&i| values[i]), not),
        None => ends(values.iter().copied(), not),
    };
    let (low, high) = match kept {
        Some(_) => ends(None)?,
        None => range(values)?,
    };
    let value = [low, high].into_iter().find(|end| USUAL.contains(end))?;
    let others = ends(Some(value));
    let is_far = others.is_none_or(|(low, high)| {
        let apart = if value < low { low - value } else { value - high };
        apart > high - low && apart > 0.1 * value.abs()
    });
    // A column that holds one number alone may be a constant, unless no instrument says such a number.
    if !is_far || (others.is_none() && value > 0.0 && value.to_string().starts_with("99")) {
        return None;
    }
    let holds = |i: &usize| values[*i] == value;
    let rows: Vec<usize> = match kept {
        Some(kept) => kept.iter().copied().filter(holds).collect(),
        None => (0..values.len()).filter(holds).collect(),
    };
    rows.iter().for_each(|&i| values[i] = f64::NAN);
    Some(Found { value, rows, others })
}

/// The least and the greatest number, many of them at a time.
fn range(values: &[f64]) -> Option<(f64, f64)> {
    let (chunks, rest) = values.as_chunks::<8>();
    let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
    let mut take = |chunk: &[f64; 8]| {
        for i in 0..8 {
            // False of NaN.
            low[i] = if chunk[i] < low[i] { chunk[i] } else { low[i] };
            high[i] = if chunk[i] > high[i] { chunk[i] } else { high[i] };
        }
    };
    chunks.iter().for_each(&mut take);
    let mut last = [f64::NAN; 8];
    last[..rest.len()].copy_from_slice(rest);
    take(&last);
    let (low, high) =
        (low.into_iter().fold(f64::INFINITY, f64::min), high.into_iter().fold(f64::NEG_INFINITY, f64::max));
    (low <= high).then_some((low, high))
}

/// The least and the greatest number, one left aside.
fn ends(values: impl Iterator<Item = f64>, not: Option<f64>) -> Option<(f64, f64)> {
    let counted = values.filter(|v| Some(*v) != not);
    // The least of a number and NaN is the number.
    let (low, high) = counted.fold((f64::NAN, f64::NAN), |(low, high), v| (low.min(v), high.max(v)));
    (!low.is_nan()).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(values: &[f64]) -> Option<(f64, usize)> {
        take_out(&mut values.to_vec(), None).map(|f| (f.value, f.rows.len()))
    }

    #[test]
    fn rule() {
        assert_eq!(found(&[12.0, -999.0, 98.0, -999.0]), Some((-999.0, 2)));
        assert_eq!(found(&[0.0, 2700.0, 65_535.0]), Some((65_535.0, 1)));
        assert_eq!(found(&[-999.0; 3]), Some((-999.0, 3)), "nothing else");
        assert_eq!(found(&[60_000.0, 20_000.0, 65_535.0, 0.0]), None, "a count that runs up to its end");
        assert_eq!(found(&[9998.0, 9999.0]), None, "a value among its like");
        assert_eq!(found(&[9999.0; 3]), None, "may be a constant");
        assert_eq!(found(&[1.0, 2.0]), None);
    }
}
