//! Numbers as a page carries them: as short as they can be written and still come back the same, bit for bit.
//!
//! A logger writes decimals. A number that is `k / 10^d` with whole `k` is the very number that reading its text gave, since both are
//! the nearest double to that fraction (IEEE 754, one correctly rounded operation). So whole numbers from the least `k` on are kept,
//! in one, two or four bytes. What is no such fraction stays a double.

use serde::Serialize;

/// Most digits after the point that are looked for.
const MOST_DECIMALS: i32 = 9;
/// Digits after the point of computed numbers, which have no text that they came from: finer than any of them is known.
const COMPUTED_DECIMALS: i32 = 6;

/// Where an array lies in the page's block of bytes, and how its numbers are made of what lies there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Packed {
    /// Offset in bytes.
    at: usize,
    /// How many numbers.
    count: usize,
    /// `u8`, `u16`, `u32` or `f64`, little endian; first bytes of all numbers, then second bytes, and so on.
    form: &'static str,
    /// Whole numbers are added to this, and divided by `per`.
    base: f64,
    /// A power of ten.
    per: f64,
    /// Whether each whole number is the step from the one before it.
    steps: bool,
    /// Whether every number comes back bit for bit.
    pub(super) exact: bool,
    /// Digits after the point; none for doubles.
    pub(super) decimals: Option<u8>,
}

/// The page's block of bytes.
#[derive(Debug, Default)]
pub(super) struct Bytes(pub(super) Vec<u8>);

impl Bytes {
    /// Values of a channel; those of a computed one to the millionth.
    pub(super) fn values(&mut self, values: &[f64], computed: bool) -> Packed {
        match whole(values).or_else(|| computed.then(|| rounded(values)).flatten()) {
            Some(found) => self.whole_numbers(&found, false),
            None => self.doubles(values),
        }
    }

    /// Times, which rise: the steps between them are short.
    pub(super) fn times(&mut self, times: &[f64]) -> Packed {
        match whole(times) {
            Some(found) => self.whole_numbers(&found, true),
            None => self.doubles(times),
        }
    }

    /// Indices into a list.
    pub(super) fn indices(&mut self, indices: &[usize]) -> Packed {
        let numbers = indices.iter().map(|&i| i as i64).collect();
        self.whole_numbers(&Whole { numbers, decimals: 0, exact: true }, false)
    }

    /// Puts numbers down, first bytes of all before second bytes of all: those that hardly change stand side by side, and shrink to
    /// next to nothing when the block is compressed.
    fn put<const N: usize>(&mut self, numbers: impl Iterator<Item = [u8; N]> + Clone) -> usize {
        let at = self.0.len();
        (0..N).for_each(|i| self.0.extend(numbers.clone().map(|number| number[i])));
        at
    }

    fn doubles(&mut self, values: &[f64]) -> Packed {
        let at = self.put(values.iter().map(|v| v.to_le_bytes()));
        Packed { at, count: values.len(), form: "f64", base: 0.0, per: 1.0, steps: false, exact: true, decimals: None }
    }

    fn whole_numbers(&mut self, found: &Whole, steps: bool) -> Packed {
        let numbers = &found.numbers;
        let base = if steps { numbers.first() } else { numbers.iter().min() }.copied().unwrap_or(0);
        let mut last = base;
        let short = numbers.iter().map(|&n| if steps { n - std::mem::replace(&mut last, n) } else { n - base });
        // `whole` has seen that they fit.
        let short: Vec<u32> = short.map(|n| n.unsigned_abs() as u32).collect();
        let most = short.iter().copied().max().unwrap_or(0);
        let short = short.iter();
        let (form, at) = if most <= u32::from(u8::MAX) {
            ("u8", self.put(short.map(|&n| [n as u8])))
        } else if most <= u32::from(u16::MAX) {
            ("u16", self.put(short.map(|&n| (n as u16).to_le_bytes())))
        } else {
            ("u32", self.put(short.map(|n| n.to_le_bytes())))
        };
        let per = 10f64.powi(found.decimals);
        let (count, decimals) = (numbers.len(), Some(found.decimals as u8));
        Packed { at, count, form, base: base as f64, per, steps, exact: found.exact, decimals }
    }
}

/// Numbers as whole multiples of a power of ten.
struct Whole {
    numbers: Vec<i64>,
    decimals: i32,
    exact: bool,
}

/// Whether differences from the least of them fit four bytes, and sums stay exact in a double.
fn fit(numbers: &[i64]) -> bool {
    let ends = numbers.iter().fold((i64::MAX, i64::MIN), |(low, high), &n| (low.min(n), high.max(n)));
    numbers.is_empty() || ends.1 - ends.0 <= i64::from(u32::MAX)
}

fn multiples(values: &[f64], decimals: i32) -> Option<Vec<i64>> {
    let per = 10f64.powi(decimals);
    let one = |v: &f64| {
        let n = (v * per).round();
        (n.abs() < 9e15).then_some(n as i64)
    };
    values.iter().map(one).collect::<Option<Vec<i64>>>().filter(|numbers| fit(numbers))
}

/// Numbers that are all decimals; none where one of them is not.
fn whole(values: &[f64]) -> Option<Whole> {
    let comes_back = |v: f64, decimals: i32| {
        let per = 10f64.powi(decimals);
        ((v * per).round() / per).to_bits() == v.to_bits()
    };
    let mut decimals = 0;
    for &v in values {
        while !comes_back(v, decimals) {
            decimals += 1;
            if decimals > MOST_DECIMALS {
                return None;
            }
        }
    }
    let numbers = multiples(values, decimals)?;
    // A value with few decimals may not come back from many.
    let per = 10f64.powi(decimals);
    let exact = numbers.iter().zip(values).all(|(&n, v)| (n as f64 / per).to_bits() == v.to_bits());
    exact.then_some(Whole { numbers, decimals, exact })
}

/// Numbers to the millionth.
fn rounded(values: &[f64]) -> Option<Whole> {
    let numbers = multiples(values, COMPUTED_DECIMALS)?;
    Some(Whole { numbers, decimals: COMPUTED_DECIMALS, exact: false })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the page's script does.
    fn unpacked(bytes: &Bytes, packed: &Packed) -> Vec<f64> {
        let size = match packed.form {
            "u8" => 1,
            "u16" => 2,
            "u32" => 4,
            _ => 8,
        };
        let mut sum = packed.base;
        let planes = &bytes.0[packed.at..][..size * packed.count];
        let parts = (0..packed.count).map(|i| (0..size).map(|k| planes[k * packed.count + i]).collect::<Vec<u8>>());
        let one = |part: Vec<u8>| {
            if packed.form == "f64" {
                return f64::from_le_bytes(part.try_into().expect("eight bytes"));
            }
            let n = part.iter().rev().fold(0u64, |n, &b| n << 8 | u64::from(b)) as f64;
            if packed.steps {
                sum += n;
                sum / packed.per
            } else {
                (packed.base + n) / packed.per
            }
        };
        parts.map(one).collect()
    }

    #[test]
    fn forms_are_the_shortest() {
        let mut bytes = Bytes::default();
        let form = |bytes: &mut Bytes, values: &[f64]| bytes.values(values, false).form;
        assert_eq!(form(&mut bytes, &[99.9, 100.1]), "u8");
        assert_eq!(form(&mut bytes, &[0.0, 65.535]), "u16");
        assert_eq!(form(&mut bytes, &[0.0, 65.536]), "u32");
        assert_eq!(form(&mut bytes, &[0.0, 1.0 / 3.0]), "f64");
        assert_eq!(form(&mut bytes, &[0.0, -0.0]), "f64", "minus zero comes back too");
        let packed = bytes.values(&[1.0 / 3.0], true);
        assert_eq!((packed.form, packed.exact, unpacked(&bytes, &packed)), ("u8", false, vec![0.333333]));
        let packed = bytes.times(&[0.0, 0.1, 0.2, 0.3, 1000.0]);
        assert_eq!((packed.form, unpacked(&bytes, &packed)), ("u16", vec![0.0, 0.1, 0.2, 0.3, 1000.0]));
    }

    proptest::proptest! {
        #[test]
        fn recorded_numbers_come_back_bit_for_bit(texts in proptest::collection::vec((-2_000_000i64..2_000_000, 0i32..8), 0..60),
                                                  odd in proptest::option::of(proptest::num::f64::NORMAL)) {
            let mut values: Vec<f64> = texts.iter().map(|(n, d)| format!("{n}e-{d}").parse().expect("a number")).collect();
            values.extend(odd);
            let mut bytes = Bytes::default();
            let bits = |values: &[f64]| values.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
            let packed = bytes.values(&values, false);
            proptest::prop_assert!(packed.exact);
            proptest::prop_assert_eq!(bits(&unpacked(&bytes, &packed)), bits(&values));
            values.sort_by(f64::total_cmp);
            let packed = bytes.times(&values);
            proptest::prop_assert_eq!(bits(&unpacked(&bytes, &packed)), bits(&values));
        }
    }
}
