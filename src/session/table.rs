//! The straight line between the points of an owner's table.

/// The value at `x` between the points of a table that rises; none outside it.
pub(super) fn between(table: &[(f64, f64)], x: f64) -> Option<f64> {
    let after = table.partition_point(|point| point.0 < x);
    let (b, a) = (table.get(after)?, table.get(after.saturating_sub(1))?);
    if a.0 > x {
        return None;
    }
    Some(if b.0 > a.0 { a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0) } else { b.1 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_holds_between_its_ends_alone() {
        let table = [(20.0, 25.0), (60.0, 61.0), (100.0, 98.0)];
        let found = [19.9, 20.0, 40.0, 60.0, 80.0, 100.0, 100.1].map(|x| between(&table, x));
        assert_eq!(found, [None, Some(25.0), Some(43.0), Some(61.0), Some(79.5), Some(98.0), None]);
        assert_eq!(between(&[], 5.0), None);
    }
}
