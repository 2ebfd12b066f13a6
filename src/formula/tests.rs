//! Formulae by hand and by chance.

use super::*;

fn unit(text: &str) -> Option<&'static Unit> {
    (!text.is_empty()).then(|| Unit::parse(text).unwrap())
}

/// The result of a formula over channels `a`, `b`, `c` with units and values.
fn result(text: &str, channels: &[(&str, f64)], to: &str) -> Result<Option<f64>, FormulaError> {
    let formula = Formula::parse(text)?;
    let known = |variable: &Variable| channels.get("abc".find(&variable.name)?).copied();
    let of = |variable: &Variable| known(variable).unwrap_or(("", 1.0));
    let found: Vec<(&str, f64)> = formula.variables().iter().map(of).collect();
    let units: Vec<_> = found.iter().map(|(text, _)| unit(text)).collect();
    let bound = formula.bind(&units, unit(to))?;
    Ok(bound.value(&found.iter().map(|pair| pair.1).collect::<Vec<_>>()))
}

#[test]
fn arithmetic_goes_from_the_left() {
    for (text, wanted) in [
        ("{a} - 3 - 2", 5.0),
        ("{a} / 5 / 2", 1.0),
        ("{a} - 3 + 2", 9.0),
        ("{a} / 5 * 2", 4.0),
        ("2 + 3 * {a}", 32.0),
        ("-{a} - -3", -7.0),
        ("-pow({a}, 2)", -100.0),
        ("(2 + 3) * {a}", 50.0),
        ("max({a}, 11) + min({a}, 3)", 14.0),
        ("sqrt({a} * 10) + abs(-{a})", 20.0),
        ("ln(exp({a})) + log10(1e2 * {a})", 13.0),
        ("cos({a} * pi * 1[rad])", 1.0),
        ("{a} + .5 + 1.5e1", 25.5),
    ] {
        let found = result(text, &[("", 10.0)], "").unwrap_or_else(|e| panic!("{text}: {e}")).unwrap();
        assert!((found - wanted).abs() < 1e-9, "{text}: {found}");
    }
}

/// Each figure by hand, from the definitions of the units.
#[test]
fn units_go_through() {
    for (text, channels, to, wanted) in [
        ("{a} + 2[kt]", &[("km/h", 185.2)][..], "kt", 102.0),
        ("{a} * {b}", &[("kt", 100.0), ("min", 90.0)], "nmi", 150.0),
        ("{a} / {b}", &[("US gal", 12.0), ("US gal/h", 8.0)], "min", 90.0),
        ("{a} - {b}", &[("%", 102.0), ("%", 99.5)], "%", 2.5),
        ("{a} - {b}", &[("degC", 500.0), ("degF", 59.0)], "degC", 485.0),
        ("({a} + {b}) / 2", &[("degC", 10.0), ("degC", 20.0)], "degC", 15.0),
        ("{a} + 10[K]", &[("degC", 15.0)], "degF", 77.0),
        ("{a} - 15[degC]", &[("degC", 25.0)], "degF", 18.0),
        ("{a} / 288.15[K]", &[("degC", 15.0)], "", 1.0),
        ("{a} * {b} / 1[kt]", &[("degC", 0.0), ("kt", 2.0)], "K", 546.3),
        ("({a} - {c}) * {b} / 1[kt]", &[("degC", 30.0), ("kt", 2.0), ("degC", 10.0)], "degC", 40.0),
        ("{a} * {b}", &[("V", 28.0), ("A", 10.0)], "kW", 0.28),
        // 100 ft lbf at 5252 rpm are 100 hp, a rule of every engine text (5252.113).
        ("{a} * {b}", &[("ft lbf", 100.0), ("rpm", 5252.113)], "hp", 100.0),
        // 120 kt and 3 degrees a second need 17.9 degrees of bank.
        ("atan({a} * {b} / 9.80665[m/s2] / 1[rad])", &[("kt", 120.0), ("deg/s", 3.0)], "deg", 18.242_6),
        ("sqrt({a} * {a} + {b} * {b})", &[("kt", 30.0), ("kt", 40.0)], "kt", 50.0),
        ("pow({a}, 3)", &[("m", 0.1)], "L", 1.0),
        ("atan2({a}, {b})", &[("kt", 1.0), ("kt", 1.0)], "deg", 45.0),
    ] {
        let found = result(text, channels, to).unwrap_or_else(|e| panic!("{text}: {e}")).unwrap();
        assert!((found - wanted).abs() < 1e-4, "{text}: {found}");
    }
}

#[test]
fn what_does_not_fit_is_refused_with_its_place() {
    let units = [("kt", 1.0), ("ft", 1.0), ("degC", 1.0)];
    for (text, to, words, place) in [
        ("2 * ({a} + {b})", "kt", "`a` (speed) and `b` (length) cannot be added", 5..14),
        ("{a} + 2", "kt", "`a` (speed) and 2 (a plain number) cannot be added", 0..3),
        ("{a} - 2[ft]", "kt", "2[ft] (length) cannot be subtracted", 0..3),
        ("{a} * {b}", "kt", "the result is m^2 s^-1; it cannot be written in kt", 0..9),
        ("{a}", "", "the result is speed; it cannot be written without a unit", 0..3),
        ("{c} + {c}", "degC", "a sum of temperatures", 0..9),
        ("{c} + 10[degC]", "degC", "a sum of temperatures", 0..14),
        ("max({c}, {c} - 15[degC])", "degC", "cannot be compared", 4..7),
        ("sin({a})", "", "sin takes an angle; `a` (speed) is none", 4..7),
        ("ln({a})", "", "ln takes a plain number", 3..6),
        ("pow({a}, {b})", "kt", "a power is a plain number; `b` (length) is none", 4..12),
        ("pow({a}, {b} / {b})", "kt", "this power of", 4..12),
        ("{a} + 2[knotts]", "kt", "`knotts` is not a known unit", 0..15),
        ("{a} +", "kt", "no formula", 0..5),
        ("{a} {b}", "kt", "no formula", 0..7),
        ("{a", "kt", "`a` is neither a channel in braces", 1..2),
        ("1 + 2", "", "names no channel", 0..5),
        ("2 * IAS", "kt", "`IAS` is neither a channel in braces", 4..7),
        ("{a}^2", "kt", "the sign `^`", 3..4),
        ("", "", "", 0..0),
    ] {
        let error = result(text, &units, to).expect_err(text);
        assert!(error.message.contains(words), "{text}: {}", error.message);
        assert_eq!(error.place, place, "{text}: {}", error.message);
    }
}

#[test]
fn what_is_no_number_has_no_value() {
    for text in ["{a} / 0", "sqrt(-{a})", "ln(-{a})", "max(sqrt(-{a}), 1)", "pow(-{a}, 0.5)"] {
        assert_eq!(result(text, &[("", 1.0)], ""), Ok(None), "{text}");
    }
}

#[test]
fn a_long_one_is_refused_and_a_deep_one_read() {
    let deep = format!("{}{{a}}{}", "(".repeat(198), ")".repeat(198));
    assert_eq!(result(&deep, &[("", 1.0)], ""), Ok(Some(1.0)));
    let signs = format!("{}{{a}}", "-".repeat(396));
    assert_eq!(result(&signs, &[("", 1.0)], ""), Ok(Some(1.0)));
    let sum = |many| format!("{}{{a}}", "{a}+".repeat(many));
    assert!(Formula::parse(&sum(99)).is_ok() && Formula::parse(&sum(100)).is_err());
}

proptest::proptest! {
    /// No text, however wrong, does more than be refused.
    #[test]
    fn nothing_brings_it_down(text in "[-+*/(),.{}a\\[\\]0-9ekt sqrtmaxpi°]{0,40}") {
        let _ = result(&text.replace("{}", "{a}"), &[("kt", 1.0), ("kt", 1.0), ("kt", 1.0)], "kt");
    }
}
