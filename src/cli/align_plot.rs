//! `jumpseat align --plot`: the evidence as a picture that a person can judge.

use super::align::{Row, apart, heading, summary};
use super::load::Loaded;
use super::panel::{write_picture, write_with};
use super::{Failure, Report};
use crate::clock::channels::Match;
use crate::draw::{Chart, ChartLine, ChartPage, ChartPoint, Look, Role};
use crate::signal::{Channel, Samples};
use image::{ImageFormat, RgbaImage};
use std::io::Write;
use std::path::Path;

/// Least width of what is shown of two traces, in seconds.
const SHORTEST_S: f64 = 60.0;
/// Points of a line: more than a page has pixels.
const POINTS: usize = 4000;

pub(super) fn write(
    loaded: &Loaded,
    rows: &[Row],
    output: &Path,
    overwrite: bool,
    report: &Report,
) -> Result<(), Failure> {
    // A film's fit on other logs than the reference says nothing that its own and that log's do not, if it has one.
    let joined = |film: usize| loaded.joined.films.get(film).is_some_and(Option::is_some);
    let says_more = |row: &Row| match row.film {
        Some(film) => row.log == loaded.reference() || (!joined(film) && row.fit.is_some()),
        None => true,
    };
    let shown = || rows.iter().filter(|row| says_more(row));
    let mut charts: Vec<Chart> = shown().filter_map(|row| residuals(loaded, row)).collect();
    for laid in &loaded.laid {
        let Ok(found) = &laid.found else { continue };
        let channel = |i: usize| {
            let (log, name) = &laid.of[i];
            loaded.session.logs()[*log].recording.channels.iter().find(|c| c.name == *name)
        };
        if let (Some(a), Some(b)) = (channel(0), channel(1)) {
            charts.extend(laid_along(&laid.names(loaded.session.logs()), a, b, found));
        }
    }
    charts.extend(loaded.heard.iter().flat_map(|heard| super::hearing_plot::charts(loaded, heard)));
    let page = ChartPage {
        title: format!("Clocks of {}", loaded.flight.document.file.display()),
        text: shown().flat_map(|row| lines(loaded, row)).collect(),
        charts,
        look: Look::default(),
    };
    let inputs = loaded.inputs();
    let (width, height) = page.size();
    if output.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg")) {
        write_with(output, overwrite, &inputs, |out| out.write_all(page.svg().as_bytes()))?;
    } else {
        let picture = RgbaImage::from_raw(width, height, page.pixels().rgba)
            .ok_or_else(|| Failure::work("the page does not fit its own picture"))?;
        write_picture(&picture.into(), ImageFormat::Png, output, overwrite, &inputs)?;
    }
    report.say(&format!("wrote {} ({width} x {height})", output.display()));
    Ok(())
}

fn lines(loaded: &Loaded, row: &Row) -> [String; 2] {
    let told = row.fit.as_ref().map_or_else(|| apart(loaded, row), |fit| summary(fit, row.span));
    [format!("{}:", heading(loaded, row)), format!("    {told}")]
}

/// How far each piece lies from the line, and how sure the line is over the film.
fn residuals(loaded: &Loaded, row: &Row) -> Option<Chart> {
    let fit = row.fit.as_ref().filter(|fit| !fit.evidence.is_empty())?;
    let times = || fit.evidence.iter().filter(|e| e.used).map(|e| e.from_s).chain([row.span.0, row.span.1]);
    let (from, to) = (times().fold(f64::MAX, f64::min), times().fold(f64::MIN, f64::max));
    let margin = 0.03 * (to - from).max(1.0);
    let (from, to) = (from - margin, to + margin);
    let used = fit.evidence.iter().filter(|e| e.used).map(|e| e.residual_s.abs() + e.sigma_s);
    let height = used.chain([2.0 * fit.sigma(from), 2.0 * fit.sigma(to), 0.005]).fold(0.0, f64::max) * 1.15;
    let band = (0..=200).map(|i| {
        let t = from + (to - from) * f64::from(i) / 200.0;
        (t, -fit.sigma(t), fit.sigma(t))
    });
    let point = |e: &crate::clock::Weighed| {
        let far = if e.residual_s.abs() > height { format!("{:+.2} s: ", e.residual_s) } else { String::new() };
        let told = e.why.split(": ").next().unwrap_or_default();
        ChartPoint {
            at: (e.from_s, e.residual_s),
            half: e.sigma_s,
            role: if e.used { Role::Second } else { Role::Refused },
            name: format!("{far}{told}{}", if e.used { "" } else { ", not used" }),
        }
    };
    Some(Chart {
        title: format!("{}: evidence about the fit, whose sigma is the band", heading(loaded, row)),
        axes: (
            if row.film.is_some() { "film time, s" } else { "session time, s" }.to_owned(),
            "seconds from the line".to_owned(),
        ),
        x: (from, to),
        y: (-height, height),
        band: band.collect(),
        lines: Vec::new(),
        points: fit.evidence.iter().map(point).collect(),
    })
}

/// Both traces before and after, about the place where the first moves most, and the correlation.
fn laid_along(names: &str, a: &Channel, b: &Channel, found: &Match) -> Vec<Chart> {
    let (Samples::Numbers(first), Samples::Numbers(second)) = (&a.samples, &b.samples) else { return Vec::new() };
    let width = (6.0 * found.lag_s.abs()).max(SHORTEST_S);
    let from = liveliest(&a.times, first, width);
    let x = (from, from + width);
    // Both as the first log's clock has them; a gap breaks the line.
    let trace = |times: &[f64], value: &dyn Fn(usize) -> f64, lag: f64, joined_s: f64| {
        let inside: Vec<usize> = (0..times.len()).filter(|&i| (x.0..=x.1).contains(&(times[i] - lag))).collect();
        let every = inside.len().div_ceil(POINTS).max(1);
        let mut points: Vec<(f64, f64)> = Vec::new();
        for &i in inside.iter().step_by(every) {
            let t = times[i] - lag;
            if points.last().is_some_and(|last| t - last.0 > joined_s * every as f64) {
                points.push((f64::NAN, f64::NAN));
            }
            points.push((t, value(i)));
        }
        points
    };
    let one = trace(&a.times, &|i| first[i], 0.0, a.rules.joined_s);
    let other = |lag| trace(&b.times, &|i| found.gain * second[i] + found.offset, lag, b.rules.joined_s);
    let ends = |values: &mut dyn Iterator<Item = f64>| {
        values.filter(|v| v.is_finite()).fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
    };
    let y = ends(&mut one.iter().map(|p| p.1));
    let margin = 0.08 * (y.1 - y.0).max(1e-9);
    let called: Vec<&str> = names.split(" and ").collect();
    let chart = |title: String, second: Vec<(f64, f64)>| Chart {
        title,
        axes: ("seconds of the first log, where it moves most".into(), a.unit.clone().unwrap_or_default()),
        x,
        y: (y.0 - margin, y.1 + margin),
        band: Vec::new(),
        lines: vec![
            ChartLine {
                points: one.clone(),
                role: Role::First,
                name: called.first().copied().unwrap_or_default().to_owned(),
            },
            ChartLine {
                points: second,
                role: Role::Second,
                name: called.last().copied().unwrap_or_default().to_owned(),
            },
        ],
        points: Vec::new(),
    };
    let every = found.correlation.len().div_ceil(POINTS).max(1);
    let peak = found.correlation.iter().map(|c| c.1).fold(f64::MIN, f64::max);
    let lags = ends(&mut found.correlation.iter().map(|c| c.0));
    vec![
        chart(format!("{names}, before: both from their first record"), other(0.0)),
        chart(format!("{names}, after: the second {:.3} s behind", found.lag_s), other(found.lag_s)),
        Chart {
            title: format!("Correlation of {names} at every lag: one peak, of {peak:.3}"),
            axes: ("lag of the second, s".into(), "correlation".into()),
            x: lags,
            y: (-1.0, 1.05),
            band: Vec::new(),
            lines: vec![ChartLine {
                points: found.correlation.iter().step_by(every).copied().collect(),
                role: Role::Second,
                name: String::new(),
            }],
            points: vec![ChartPoint {
                at: (found.lag_s, peak),
                half: 0.0,
                role: Role::First,
                name: format!("{:.3} s", found.lag_s),
            }],
        },
    ]
}

/// From where on a trace moves most within a width.
fn liveliest(times: &[f64], values: &[f64], width: f64) -> f64 {
    let way: Vec<f64> = std::iter::once(0.0)
        .chain(values.windows(2).scan(0.0, |sum, v| {
            *sum += (v[1] - v[0]).abs();
            Some(*sum)
        }))
        .collect();
    let moved = |i: usize| {
        let end = times.partition_point(|t| *t <= times[i] + width);
        way[end - 1] - way[i]
    };
    let best = (0..times.len()).max_by(|a, b| moved(*a).total_cmp(&moved(*b))).unwrap_or(0);
    times.get(best).copied().unwrap_or(0.0) - 0.1 * width
}
