//! The Dunlin's quantities as keys on the timetable: (seconds, value).

use super::curve::Curve;
use super::dunlin::{OAT_C, WIND};
use super::script::{DESCENT, FULL_S};

/// A moment of the timetable and the value there.
type Key = (f64, f64);

/// kt; on the ground and in the hover the machine faces the wind.
pub(super) const AIRSPEED: [Key; 16] = [
    (165.0, WIND.0),
    (185.0, 55.0),
    (250.0, 60.0),
    (262.0, 80.0),
    (308.0, 80.0),
    (316.0, 72.0),
    (325.0, 78.0),
    (350.0, 78.0),
    (358.0, 62.0),
    (380.0, 60.0),
    (418.0, 61.0),
    (428.0, 76.0),
    (485.0, 76.0),
    (500.0, 65.0),
    (518.0, 50.0),
    (532.0, WIND.0),
];

/// degrees, below 0 or beyond a full turn where a turn leads through north.
pub(super) const HEADING: [Key; 8] = [
    (254.0, WIND.1),
    (284.0, WIND.1 + 90.0),
    (326.0, WIND.1 + 90.0),
    (349.0, WIND.1),
    (388.0, WIND.1),
    (424.0, WIND.1 - 180.0),
    (486.0, WIND.1 - 180.0),
    (516.0, WIND.1),
];

/// US gal/h.
pub(super) const FLOW: [Key; 37] = [
    (24.0, 0.0),
    (27.0, 2.2),
    (34.0, 5.0),
    (44.0, 4.2),
    (62.0, 4.2),
    (72.0, 5.0),
    (92.0, 4.4),
    (102.0, 4.4),
    (120.0, 8.2),
    (140.0, 8.2),
    (150.0, 11.5),
    (165.0, 11.5),
    (175.0, 12.6),
    (240.0, 12.6),
    (255.0, 10.4),
    (309.0, 10.4),
    (314.0, 13.8),
    (318.0, 12.8),
    (326.0, 10.4),
    (350.0, 10.4),
    (355.0, 4.4),
    (376.0, 4.4),
    (382.0, 12.8),
    (414.0, 12.8),
    (424.0, 10.2),
    (430.0, 10.2),
    (435.0, 9.6),
    (442.0, 10.2),
    (485.0, 10.2),
    (495.0, 7.2),
    (522.0, 7.8),
    (532.0, 11.6),
    (545.0, 11.6),
    (552.0, 8.0),
    (560.0, 4.3),
    (566.0, 4.3),
    (567.5, 0.0),
];

/// psi; cold oil stands higher.
pub(super) const OIL_P: [Key; 15] = [
    (21.0, 0.0),
    (28.0, 22.0),
    (48.0, 54.0),
    (62.0, 54.0),
    (102.0, 52.0),
    (120.0, 72.0),
    (300.0, 61.0),
    (350.0, 61.0),
    (355.0, 52.0),
    (376.0, 52.0),
    (383.0, 61.0),
    (552.0, 58.0),
    (560.0, 44.0),
    (566.0, 44.0),
    (582.0, 0.0),
];

/// °C.
pub(super) const OIL_T: [Key; 7] =
    [(24.0, OAT_C), (120.0, 42.0), (300.0, 84.0), (430.0, 86.0), (485.0, 87.0), (560.0, 83.0), (600.0, 80.0)];

/// °C; it follows the oil, and slipping heats it.
pub(super) const GEARBOX_T: [Key; 7] =
    [(62.0, OAT_C), (140.0, 30.0), (300.0, 68.0), (430.0, 74.0), (446.0, 80.0), (490.0, 78.0), (600.0, 70.0)];

/// V: battery, starter, generator on, generator off.
pub(super) const VOLTS: [Key; 10] = [
    (20.0, 25.2),
    (24.0, 17.6),
    (30.0, 20.8),
    (42.0, 23.4),
    (46.0, 24.6),
    (50.0, 24.6),
    (53.0, 28.2),
    (566.0, 28.1),
    (570.0, 25.4),
    (600.0, 25.1),
];

/// °C, with a start peak by chance.
pub(super) fn egt(start_peak: f64) -> Vec<Key> {
    let start = [(24.0, OAT_C), (31.0, start_peak), (44.0, 430.0), (62.0, 430.0), (72.0, 468.0), (92.0, 440.0)];
    let climb = [(102.0, 440.0), (120.0, 520.0), (140.0, 520.0), (150.0, 560.0), (165.0, 560.0), (175.0, 592.0)];
    let cruise = [(240.0, 592.0), (255.0, 545.0), (309.0, 545.0), (314.0, 642.0), (318.0, 620.0), (326.0, 545.0)];
    let practice = [(350.0, 545.0), (356.0, 430.0), (376.0, 430.0), (382.0, 605.0), (386.0, 590.0), (414.0, 590.0)];
    let back = [(424.0, 545.0), (430.0, 545.0), (435.0, 532.0), (442.0, 545.0), (485.0, 545.0), (495.0, 488.0)];
    let landing = [(522.0, 500.0), (532.0, 562.0), (545.0, 562.0), (552.0, 510.0), (560.0, 430.0), (566.0, 430.0)];
    [&start, &climb, &cruise, &practice, &back, &landing]
        .into_iter()
        .flatten()
        .copied()
        .chain([(574.0, 230.0), (600.0, 150.0)])
        .collect()
}

/// ft/min; the descent takes back exactly what the rest has left, so that the flight ends at the field.
pub(super) fn climb() -> Vec<Key> {
    let mut keys = vec![(165.0, 0.0), (175.0, 700.0), (240.0, 700.0), (250.0, 0.0)];
    keys.extend([(310.0, 0.0), (314.0, 200.0), (318.0, 200.0), (322.0, 0.0)]);
    keys.extend([(350.0, 0.0), (356.0, -1500.0), (376.0, -1500.0), (384.0, 0.0)]);
    keys.extend([(388.0, 0.0), (392.0, 500.0), (414.0, 500.0), (420.0, 0.0)]);
    let gained = Curve::new(keys.clone()).area(FULL_S);
    let (from, to) = DESCENT;
    // A trapezium with slopes of 8 s at both ends.
    let sink = -gained / (to - from - 8.0);
    keys.extend([(from, 0.0), (from + 8.0, sink), (to - 8.0, sink), (to, 0.0)]);
    keys
}
