//! The row of recorded lamps, and above it the badges of computed alerts that are on.
//!
//! One subject, one lamp. A lamp that no log recorded is not drawn and the row closes up. An alert stands right above the
//! lamp of its subject; when the two contradict each other a disc joins them, and an alert that is off is then drawn
//! unlit. Other alerts take the free places, the gravest first; what has no place is counted on the last one.

use crate::panel::{Density, Lamp, Limit, LitWords, Panel, Severity};
use crate::readout::{AlertShown, InstrumentState, LampShown, LampsState, PanelState};

use super::face::{Face, Ground};
use super::lamp::{self, Icon, Plate, Shape, Words};
use super::layout::Canvas;
use super::part::{Arrow, Part, StateKey};
use super::path::{Path, Rect};
use super::scene::Scene;
use super::theme::{Palette, Rgba};
use super::words;

/// Middle of the lowest row from the bottom, in modules, unless the owner chose: just above tiles at .060.
const FROM_BOTTOM: f64 = 0.137;
/// Height of a lamp in a portrait picture, in modules.
const PORTRAIT_HEIGHT: f64 = 0.064;
/// Narrowest and widest lamp, in modules, and most of them in a row.
const WIDTHS: (f64, f64) = (0.120, 0.220);
const MOST: usize = 4;

/// The lamps and badges in their places.
#[derive(Debug, Clone)]
pub(super) struct LampRow {
    lamps: Vec<Lamp>,
    limits: Vec<Limit>,
    /// The panel's lamps by subject.
    groups: Vec<Vec<usize>>,
    columns: usize,
    /// Rows of lamps, when all are recorded; the row of badges lies above them.
    rows: usize,
    /// Left edge of the first column and upper edge of the highest row.
    corner: (f64, f64),
    /// Width and height of a plate.
    plate: (f64, f64),
    /// Between two plates, in pixels.
    gap: f64,
    m: f64,
    palette: &'static Palette,
}

/// An alert that is to be drawn.
struct Badge<'a> {
    limit: &'a Limit,
    plate: Plate,
    /// Whether the lamp says otherwise.
    differs: bool,
    /// The more urgent, the smaller: on, then off against a lit lamp, then what was on when the data ended.
    rank: u8,
}

impl LampRow {
    /// The rows of a panel on a shown picture; none for a panel without lamps and limits. Unless the owner chose their height,
    /// they stand on what reaches up to `on_m` modules from the bottom.
    pub fn new(panel: &Panel, canvas: Canvas, on_m: Option<f64>) -> Option<Self> {
        let Canvas { width, height, m, palette } = canvas;
        let groups = panel.lamp_groups();
        let most = groups.len().max(panel.limits.len());
        if most == 0 {
            return None;
        }
        let gaps = panel.density.gaps();
        let gap = gaps.plate * m;
        let beside_dials = width - 2.0 * gaps.beside_dials() * m;
        let landscape = width > 1.05 * height && beside_dials >= WIDTHS.0 * m;
        let room = if landscape { beside_dials } else { width - 2.0 * gaps.edge * m };
        let fit = ((room + gap) / (WIDTHS.0 * m + gap)).floor().max(1.0) as usize;
        let fit = fit.min(MOST).min(most);
        // On a phone's panel, where rows are short, as many rows as that takes, but evenly filled.
        let columns = if panel.density == Density::Phone { most.div_ceil(most.div_ceil(fit)) } else { fit };
        let wide = ((room + gap) / columns as f64 - gap).min(WIDTHS.1 * m);
        let high = if landscape { lamp::HEIGHT } else { PORTRAIT_HEIGHT } * m;
        let rows = groups.len().div_ceil(columns);
        let all = rows + usize::from(!panel.limits.is_empty());
        let on_plates = on_m.map_or(FROM_BOTTOM, |on_m| on_m + high / m / 2.0);
        let from_bottom = panel.lamps_from_bottom_m.unwrap_or(on_plates) * m;
        let across = columns as f64 * (wide + gap) - gap;
        let upward = from_bottom + high / 2.0 + (all - 1) as f64 * (high + gap);
        Some(Self {
            lamps: panel.lamps.clone(),
            limits: panel.limits.clone(),
            groups,
            columns,
            rows,
            corner: ((width - across) / 2.0, height - upward),
            plate: (wide, high),
            gap,
            m,
            palette,
        })
    }

    /// How high they reach, in modules from the bottom of a shown picture of this height.
    pub fn top_m(&self, height: f64) -> f64 {
        (height - self.corner.1) / self.m
    }

    /// Rows of plates, that of the badges included.
    fn all_rows(&self) -> usize {
        self.rows + usize::from(!self.limits.is_empty())
    }

    /// A place, rows counted from the top.
    fn place(&self, row: usize, column: usize) -> Rect {
        let ((wide, high), gap) = (self.plate, self.gap);
        let (left, top) = (self.corner.0 + column as f64 * (wide + gap), self.corner.1 + row as f64 * (high + gap));
        Rect { left, top, right: left + wide, bottom: top + high }
    }

    /// All places together.
    fn rect(&self) -> Rect {
        let (first, last) = (self.place(0, 0), self.place(self.all_rows() - 1, self.columns - 1));
        Rect { right: last.right, bottom: last.bottom, ..first }
    }

    /// The plate of one subject's lamps; none if they are not recorded.
    fn lamp(&self, group: &[usize], shown: LampShown) -> Option<Plate> {
        let subject = self.lamps.get(*group.first()?)?.subject.clone();
        let state = |word: String, icon| Words::State { subject: subject.clone(), word, icon };
        let (shape, words) = match shown {
            LampShown::NotRecorded => return None,
            LampShown::Unlit => (Shape::Unlit, Words::Subject(subject)),
            LampShown::Lit(i) => {
                let lamp = self.lamps.get(i)?;
                let words = match &lamp.lit {
                    LitWords::Word(word) => {
                        let arrow = match word.as_str() {
                            "LOW" => Some(Icon::Arrow(Arrow::Down)),
                            "HIGH" => Some(Icon::Arrow(Arrow::Up)),
                            _ => None,
                        };
                        state(word.clone(), arrow)
                    }
                    LitWords::Phrase(lines) => Words::Phrase(lines.clone()),
                };
                (shape(lamp.severity), words)
            }
            LampShown::Disagree => (Shape::Disagree, state("DISAGREE".into(), Some(Icon::Unequal))),
            LampShown::Stale { age_s } => (Shape::Stale, state(old(age_s), None)),
            LampShown::Invalid => (Shape::Invalid, state("NO DATA".into(), None)),
        };
        Some(Plate { shape, words, computed: false })
    }

    /// Whether the lamp that means the same as a limit is lit; none if there is no such lamp, or it is not known.
    fn lamp_of(&self, limit: &Limit, state: &LampsState) -> Option<bool> {
        let group = self.groups.iter().find(|group| self.subject(group) == Some(&*limit.subject))?;
        let says_it = |&&i: &&usize| {
            self.lamps.get(i).is_some_and(|lamp| matches!(&lamp.lit, LitWords::Word(word) if *word == limit.word))
        };
        let same = group.iter().find(says_it).or(if group.len() == 1 { group.first() } else { None })?;
        state.recorded.get(*same)?.lit()
    }

    fn subject(&self, group: &[usize]) -> Option<&str> {
        Some(&self.lamps.get(*group.first()?)?.subject)
    }

    /// The alerts that are to be drawn, the most urgent first.
    fn badges(&self, state: &LampsState) -> Vec<Badge<'_>> {
        let mut badges: Vec<Badge<'_>> = Vec::new();
        for (limit, &alert) in self.limits.iter().zip(&state.alerts) {
            let subject = || limit.subject.clone();
            let lit = self.lamp_of(limit, state);
            let (rank, shape, words, differs) = match (alert, lit) {
                (AlertShown::On, lit) => {
                    let arrow = if limit.is_minimum { Arrow::Down } else { Arrow::Up };
                    let icon = Some(Icon::Arrow(arrow));
                    let words = Words::State { subject: subject(), word: limit.word.clone(), icon };
                    (0, shape(limit.severity), words, lit == Some(false))
                }
                (AlertShown::Off, Some(true)) => (1, Shape::Unlit, Words::Subject(subject()), true),
                (AlertShown::Lost { age_s }, _) => {
                    let words = Words::State { subject: subject(), word: old(age_s), icon: None };
                    (2, Shape::Stale, words, false)
                }
                _ => continue,
            };
            badges.push(Badge { limit, plate: Plate { shape, words, computed: true }, differs, rank });
        }
        badges.sort_by_key(|badge| (badge.rank, badge.limit.severity));
        badges
    }
}

/// The age of what is too old.
fn old(age_s: f64) -> String {
    let [text, _] = words::old(age_s);
    text
}

pub(super) const fn shape(severity: Severity) -> Shape {
    match severity {
        Severity::Warning => Shape::Warning,
        Severity::Caution => Shape::Caution,
        Severity::InTransit => Shape::InTransit,
        Severity::Advisory => Shape::Advisory,
        Severity::Normal => Shape::Normal,
    }
}

impl Face for LampRow {
    /// All of it changes.
    fn face(&self) -> Scene {
        Scene::default()
    }

    fn key(&self, _: &InstrumentState, panel: &PanelState) -> StateKey {
        let state = &panel.lamps;
        let mut parts = Vec::new();
        let shown = self.groups.iter().zip(&state.groups);
        let lamps: Vec<(&str, Plate)> =
            shown.filter_map(|(group, &shown)| Some((self.subject(group)?, self.lamp(group, shown)?))).collect();
        // Rows in use are the lowest ones, and the badges stand right above them.
        let badge_row = self.rows - lamps.len().div_ceil(self.columns);
        let first_lamp_row = badge_row + self.all_rows() - self.rows;
        let mut columns: Vec<Option<&str>> = vec![None; self.columns];
        for (row, lamps) in lamps.chunks(self.columns).enumerate() {
            let start = (self.columns - lamps.len()) / 2;
            for (i, (subject, plate)) in lamps.iter().enumerate() {
                parts.push(Part::Lamp { row: first_lamp_row + row, column: start + i, plate: plate.clone() });
                if row == 0 {
                    columns[start + i] = Some(subject);
                }
            }
        }
        let mut badges = self.badges(state);
        let hidden = if badges.len() > self.columns { badges.split_off(self.columns - 1) } else { Vec::new() };
        let placed = self.placed(&badges, &columns);
        let mut differs = Vec::new();
        for (badge, &column) in badges.into_iter().zip(&placed) {
            if badge.differs {
                let joined = columns[column] == Some(&*badge.limit.subject);
                differs.push(Part::Differs { row: badge_row, column, joined });
            }
            parts.push(Part::Lamp { row: badge_row, column, plate: badge.plate });
        }
        if let (Some(gravest), Some(column)) = (hidden.first(), (0..self.columns).find(|c| !placed.contains(c))) {
            let words = Words::State { subject: format!("+{}", hidden.len()), word: "ALERTS".into(), icon: None };
            let plate = Plate { shape: gravest.plate.shape, words, computed: true };
            parts.push(Part::Lamp { row: badge_row, column, plate });
        }
        parts.append(&mut differs);
        parts
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        match part {
            Part::Lamp { row, column, plate } => {
                lamp::draw(&mut scene, plate, self.place(*row, *column), self.m, self.palette);
            }
            Part::Differs { row, column, joined } => {
                let badge = self.place(*row, *column);
                let aside = (badge.right - (badge.right - badge.left) * 0.13, badge.top);
                let at = if *joined { lamp::join(badge, self.gap) } else { aside };
                lamp::differs(&mut scene, at, self.m, self.palette);
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect())
    }

    fn extent(&self) -> Scene {
        let mut scene = Scene::default();
        scene.fill(Path::rounded(self.rect().grown(lamp::reach(self.m)), 0.0), Rgba::opaque(0).at(0.0));
        scene
    }
}

impl LampRow {
    /// The column of each badge: above the lamp of its subject, else on a place of its own for as long as that is free.
    fn placed(&self, badges: &[Badge<'_>], columns: &[Option<&str>]) -> Vec<usize> {
        let mut taken = vec![false; self.columns];
        let mut placed: Vec<Option<usize>> = vec![None; badges.len()];
        for (badge, place) in badges.iter().zip(&mut placed) {
            let above = columns.iter().position(|lamp| *lamp == Some(&*badge.limit.subject));
            *place = above.filter(|&column| !std::mem::replace(&mut taken[column], true));
        }
        // Places that no limit has a lamp under, shared out among the others in the panel's order.
        let has_limit = |lamp: &Option<&str>| lamp.is_some_and(|s| self.limits.iter().any(|limit| limit.subject == s));
        let free: Vec<usize> = (0..self.columns).filter(|&c| !has_limit(&columns[c])).collect();
        let others: Vec<&Limit> =
            self.limits.iter().filter(|limit| !columns.contains(&Some(&*limit.subject))).collect();
        let home = |limit: &Limit| {
            let i = others.iter().position(|other| other.name == limit.name).unwrap_or(0);
            free.get(i % free.len().max(1)).copied().unwrap_or(0)
        };
        for (badge, place) in badges.iter().zip(&mut placed) {
            if place.is_none() {
                let start = home(badge.limit);
                let column = (0..self.columns).map(|i| (start + i) % self.columns).find(|&c| !taken[c]);
                // There are never more badges than places.
                let column = column.unwrap_or(start);
                taken[column] = true;
                *place = Some(column);
            }
        }
        placed.into_iter().flatten().collect()
    }
}
