//! All clocks of a flight in one weighted least-squares fit.
//!
//! The unknowns are each clock's offset from the reference log's, and each crystal's rate. Every piece of evidence is one
//! equation; every crystal has one more, which says that it runs true within what quartz does. So the rate follows the evidence as
//! far as its span supports that, and stays near 1 where it does not; two logs of one logger share their crystal's rate; a film is
//! joined through another log, or through UTC, as well as directly. Clocks that nothing joins to the reference are fitted among
//! themselves, as far as evidence joins them.
//!
//! Evidence is refused by data snooping: as long as a residual lies more than [`REFUSED_BEYOND`] of its own standard deviations
//! away, the worst one goes and the rest is fitted anew (W. Baarda, A Testing Procedure for Use in Geodetic Networks,
//! Netherlands Geodetic Commission, 1968). What agrees with the final fit after all is taken back.

use super::equations::{Equation, State};
use super::evidence::{ClockId, Evidence, EvidenceKind};
use super::fit::{ClockFit, Weighed};
use nalgebra::DVector;

/// Residuals beyond so many of their standard deviations are refused: one in 16 000 by chance.
const REFUSED_BEYOND: f64 = 4.0;
/// Two suspects whose squares differ by less than this cannot be told apart (three sigma).
const APART: f64 = 9.0;
/// Standard uncertainty of a quartz crystal's rate. Consumer crystals are given as 20 to 50 parts in a million (crystal
/// makers' data sheets): 50 / sqrt(3), as of a uniform distribution.
pub const QUARTZ_SIGMA: f64 = 29e-6;

/// What drives a clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Crystal {
    /// UTC itself, or a receiver that follows it.
    True,
    /// A crystal of this number; clocks of one number share its rate.
    Quartz(usize),
}

/// A clock and what drives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// The clock.
    pub clock: ClockId,
    /// Its crystal.
    pub crystal: Crystal,
}

/// What became of a piece of evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Fate {
    Used,
    OnlyShown,
    /// So many standard deviations from what the rest says.
    Refused(f64),
}

/// The clocks of a flight, as far as evidence joins them.
#[derive(Debug, Clone)]
pub struct Network {
    nodes: Vec<Node>,
    reference: ClockId,
    evidence: Vec<Evidence>,
    fates: Vec<Fate>,
    /// Pairs of pieces that contradict each other while nothing tells which is wrong.
    torn: Vec<(usize, usize)>,
    state: State,
}

impl Network {
    /// Fits all clocks. `quartz_sigma`: what is known of crystals beforehand, usually [`QUARTZ_SIGMA`].
    pub fn solve(nodes: Vec<Node>, reference: ClockId, evidence: Vec<Evidence>, quartz_sigma: f64) -> Self {
        let usable = |e: &Evidence| e.sigma_s > 0.0 && e.sigma_s.is_finite() && e.on.iter().all(|(_, t)| t.is_finite());
        let mut fates: Vec<Fate> =
            evidence.iter().map(|e| if usable(e) && !e.only_shown { Fate::Used } else { Fate::OnlyShown }).collect();
        let mut wrong_crystals = Vec::new();
        let mut torn = Vec::new();
        let state = |fates: &[Fate], wrong: &[usize]| {
            let used = |i: usize| fates[i] == Fate::Used;
            State::of(&nodes, reference, &evidence, &used, wrong, quartz_sigma)
        };
        let mut now = state(&fates, &wrong_crystals);
        while let Some(worst) = worst(&now.tested) {
            let suspects: Vec<(Equation, f64)> =
                now.tested.iter().copied().filter(|(_, w)| worst * worst - w * w < APART).collect();
            let pieces = || {
                suspects.iter().filter_map(|(e, w)| if let Equation::Evidence(i) = e { Some((*i, *w)) } else { None })
            };
            let Some(least) = pieces().map(|(i, _)| evidence[i].kind).min() else {
                wrong_crystals.extend(
                    suspects.iter().filter_map(|(e, _)| if let Equation::Crystal(k) = e { Some(*k) } else { None }),
                );
                now = state(&fates, &wrong_crystals);
                continue;
            };
            let mut weakest: Vec<(usize, f64)> = pieces().filter(|(i, _)| evidence[*i].kind == least).collect();
            weakest.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
            // A camera's date gives way to a logger's: which of the two is wrong makes no difference to the line between them.
            if least == EvidenceKind::Timestamp {
                weakest.sort_by_key(|(i, _)| !evidence[*i].on.iter().any(|(c, _)| matches!(c, ClockId::Film(_))));
            } else if let [(a, _), (b, _), ..] = weakest[..] {
                torn.push((a.min(b), a.max(b)));
            }
            let (out, w) = weakest[0];
            fates[out] = Fate::Refused(w.abs());
            now = state(&fates, &wrong_crystals);
        }
        let mut network = Self { nodes: nodes.clone(), reference, evidence: evidence.clone(), fates, torn, state: now };
        network.take_back(&|fates| state(fates, &wrong_crystals));
        network.measure_refused();
        network
    }

    /// Evidence that was refused on the way and agrees with what is left after all.
    fn take_back(&mut self, state: &dyn Fn(&[Fate]) -> State) {
        let torn: Vec<usize> = self.torn.iter().flat_map(|(a, b)| [*a, *b]).collect();
        for i in 0..self.evidence.len() {
            let agrees = matches!(self.fates[i], Fate::Refused(_))
                && !torn.contains(&i)
                && self.misfit(i).is_some_and(|(_, w)| w.abs() <= REFUSED_BEYOND);
            if agrees {
                self.fates[i] = Fate::Used;
                let tried = state(&self.fates);
                if worst(&tried.tested).is_none() {
                    self.state = tried;
                } else {
                    self.fates[i] = Fate::Refused(REFUSED_BEYOND);
                }
            }
        }
    }

    /// Says of what was refused how far it lies from the final fit.
    fn measure_refused(&mut self) {
        for i in 0..self.evidence.len() {
            if let (Fate::Refused(_), Some((_, w))) = (self.fates[i], self.misfit(i)) {
                self.fates[i] = Fate::Refused(w.abs());
            }
        }
    }

    /// How far a piece that is not used lies from the fit, in seconds and in standard deviations.
    fn misfit(&self, i: usize) -> Option<(f64, f64)> {
        let e = &self.evidence[i];
        let line = self.line(e.on[0].0, e.on[1].0)?;
        let residual = e.on[1].1 - line.at(e.on[0].1);
        Some((residual, residual / e.sigma_s.hypot(line.sigma(e.on[0].1))))
    }

    /// The pieces that contradict each other while nothing tells which is wrong, and by how many seconds; of each pair one was
    /// refused.
    pub fn torn(&self) -> impl Iterator<Item = (&Evidence, &Evidence, f64)> {
        self.torn.iter().filter_map(|&(a, b)| {
            let out = if self.fates.get(a)? == &Fate::Used { b } else { a };
            let apart = self.misfit(out).map_or(0.0, |(residual, _)| residual.abs());
            Some((self.evidence.get(a)?, self.evidence.get(b)?, apart))
        })
    }

    /// The pieces that were refused, and how many standard deviations each lies from what the rest says.
    pub fn refused(&self) -> impl Iterator<Item = (&Evidence, f64)> {
        self.evidence.iter().zip(&self.fates).filter_map(|(e, fate)| match fate {
            Fate::Refused(w) => Some((e, *w)),
            _ => None,
        })
    }

    /// One clock on another, with all evidence that concerns it; none where nothing joins them.
    pub fn fit(&self, from: ClockId, to: ClockId) -> Option<ClockFit> {
        let mut fit = self.line(from, to)?;
        let subject = if from == self.reference { to } else { from };
        fit.evidence = (0..self.evidence.len())
            .filter(|&i| from != to && self.evidence[i].touches(subject))
            .filter_map(|i| self.weighed(i, from, to, subject, &fit))
            .collect();
        Some(fit)
    }

    /// A piece of evidence as a moment on two clocks, one of which it names itself.
    fn weighed(&self, i: usize, from: ClockId, to: ClockId, subject: ClockId, fit: &ClockFit) -> Option<Weighed> {
        let e = &self.evidence[i];
        let [own, other] = if e.on[0].0 == subject { e.on } else { [e.on[1], e.on[0]] };
        let far = if subject == from { to } else { from };
        let way = self.line(other.0, far)?;
        let there = way.at(other.1);
        let (from_s, to_s) = if subject == from { (own.1, there) } else { (there, own.1) };
        let residual_s = to_s - fit.at(from_s);
        let why = match self.fates[i] {
            Fate::Used => e.why.clone(),
            Fate::OnlyShown => format!("{}: shown only, {residual_s:+.3} s from the fit", e.why),
            Fate::Refused(w) => {
                format!("{}: refused, {residual_s:+.3} s from what the rest says, {w:.0} standard deviations", e.why)
            }
        };
        Some(Weighed {
            kind: e.kind,
            offset_s: to_s - fit.rate * from_s,
            sigma_s: e.sigma_s.hypot(way.sigma(other.1)),
            used: self.fates[i] == Fate::Used,
            why,
            from_s,
            to_s,
            residual_s,
        })
    }

    /// One clock on another.
    fn line(&self, from: ClockId, to: ClockId) -> Option<ClockFit> {
        let (f, t) = (self.node(from)?, self.node(to)?);
        if f == t {
            return Some(ClockFit::same());
        }
        let s = &self.state;
        (s.island[f] == s.island[t]).then_some(())?;
        let reference = self.node(self.reference)?;
        let zero = s.rate_of(reference);
        // session = u + x + z (u - p)
        let (xf, zf, pf) = (s.offset_of(f), s.rate_of(f) - zero, s.pivot[f]);
        let (xt, zt, pt) = (s.offset_of(t), s.rate_of(t) - zero, s.pivot[t]);
        let map = |u: f64| {
            let session = u + xf + zf * (u - pf);
            pt + (session - pt - xt) / (1.0 + zt)
        };
        let rate = (1.0 + zf) / (1.0 + zt);
        let n = s.solution.len();
        // What an error of each unknown does to the offset at a time, and to the rate.
        let at = |u: f64| {
            let mut l = DVector::zeros(n);
            s.add(&mut l, f, u, 1.0, reference);
            s.add(&mut l, t, map(u), -1.0, reference);
            l
        };
        let mut slope = DVector::zeros(n);
        s.add_rate(&mut slope, f, 1.0, reference);
        s.add_rate(&mut slope, t, -rate, reference);
        let with = |a: &DVector<f64>, b: &DVector<f64>| (a.transpose() * &s.cov * b)[(0, 0)];
        let cov11 = with(&slope, &slope).max(0.0);
        let pivot = if cov11 > 0.0 { pf - with(&at(pf), &slope) / cov11 } else { pf };
        let here = at(pivot);
        let cov01 = with(&here, &slope);
        Some(ClockFit {
            pivot_s: pivot,
            offset_at_pivot_s: map(pivot) - pivot,
            rate,
            cov: [[with(&here, &here).max(0.0), cov01], [cov01, cov11]],
            evidence: Vec::new(),
        })
    }

    fn node(&self, clock: ClockId) -> Option<usize> {
        self.nodes.iter().position(|n| n.clock == clock)
    }
}

/// The greatest tested residual, if it is beyond what is taken.
fn worst(tested: &[(Equation, f64)]) -> Option<f64> {
    tested.iter().map(|(_, w)| w.abs()).max_by(f64::total_cmp).filter(|w| *w > REFUSED_BEYOND)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILM: ClockId = ClockId::Film(0);
    const LOG: ClockId = ClockId::Log(0);

    fn nodes(clocks: &[ClockId]) -> Vec<Node> {
        let crystal = |(i, &clock): (usize, &ClockId)| match clock {
            ClockId::Utc => Node { clock, crystal: Crystal::True },
            _ => Node { clock, crystal: Crystal::Quartz(i) },
        };
        clocks.iter().enumerate().map(crystal).collect()
    }

    fn mark(film_s: f64, log_s: f64) -> Evidence {
        Evidence::new(EvidenceKind::Mark, (FILM, film_s), (LOG, log_s), 0.05, format!("mark at {film_s}"))
    }

    fn solve(evidence: Vec<Evidence>) -> Network {
        Network::solve(nodes(&[LOG, FILM, ClockId::Utc]), LOG, evidence, QUARTZ_SIGMA)
    }

    #[test]
    fn one_mark_gives_the_offset_and_no_rate() {
        let fit = solve(vec![mark(10.0, 25.0)]).fit(FILM, LOG).expect("fit");
        assert!((fit.at(10.0) - 25.0).abs() < 1e-12 && (fit.rate - 1.0).abs() < 1e-15, "{fit:?}");
        assert!((fit.sigma(10.0) - 0.05).abs() < 1e-12 && (fit.pivot_s - 10.0).abs() < 1e-6, "{fit:?}");
        assert!((fit.cov[1][1].sqrt() - QUARTZ_SIGMA * 2f64.sqrt()).abs() < 1e-9, "two crystals");
        assert!(solve(vec![]).fit(FILM, LOG).is_none());
    }

    #[test]
    fn near_marks_do_not_claim_a_rate_but_far_ones_do() {
        let near = solve(vec![mark(0.0, 5.0), mark(60.0, 65.04)]).fit(FILM, LOG).expect("fit");
        assert!((near.rate - 1.0).abs() < 2e-6, "{}", near.rate);
        // A day apart, 0.05 s are 0.8 ppm.
        let far = solve(vec![mark(0.0, 5.0), mark(86400.0, 86405.0 + 86400.0 * 30e-6)]).fit(FILM, LOG).expect("fit");
        assert!((far.rate - 1.0 - 30e-6).abs() < 0.1e-6, "{}", far.rate);
    }

    #[test]
    fn a_mark_one_minute_off_is_refused_and_two_alone_are_torn() {
        let three = solve(vec![mark(0.0, 5.0), mark(300.0, 365.0), mark(600.0, 605.0)]);
        let fit = three.fit(FILM, LOG).expect("fit");
        assert!((fit.at(0.0) - 5.0).abs() < 1e-6, "{fit:?}");
        assert_eq!(fit.evidence.iter().map(|e| e.used).collect::<Vec<_>>(), [true, false, true]);
        assert_eq!(three.torn().count(), 0);
        let two = solve(vec![mark(0.0, 5.0), mark(300.0, 365.0)]);
        assert_eq!(two.torn().count(), 1);
        // A date, weak as it is, tells which of the two is right.
        let utc = |clock, t| Evidence::new(EvidenceKind::Timestamp, (clock, t), (ClockId::Utc, 0.0), 0.3, "date");
        let told = solve(vec![mark(0.0, 5.0), mark(300.0, 365.0), utc(FILM, -5.0), utc(LOG, 0.0)]);
        assert_eq!(told.torn().count(), 0);
        assert!((told.fit(FILM, LOG).expect("fit").at(0.0) - 5.0).abs() < 1e-3);
    }

    #[test]
    fn a_wrong_date_gives_way_to_a_mark() {
        let utc = |clock, t| Evidence::new(EvidenceKind::Timestamp, (clock, t), (ClockId::Utc, 0.0), 0.3, "date");
        let network = solve(vec![mark(0.0, 5.0), utc(FILM, -3605.0), utc(LOG, 0.0)]);
        let fit = network.fit(FILM, LOG).expect("fit");
        assert!((fit.at(0.0) - 5.0).abs() < 1e-6, "{fit:?}");
        assert_eq!(network.refused().count(), 1);
    }

    #[test]
    fn a_crystal_that_runs_wrong_is_believed_when_three_marks_say_so() {
        let marks = [0.0, 1000.0, 2000.0].map(|t| mark(t, t * 1.002));
        let fit = solve(marks.to_vec()).fit(FILM, LOG).expect("fit");
        assert!((fit.rate - 1.002).abs() < 1e-6, "{}", fit.rate);
        assert!(fit.evidence.iter().all(|e| e.used));
    }

    /// Two parts of one logger share their crystal: the first part's rate serves the second, which has one mark alone.
    #[test]
    fn parts_of_one_logger_share_a_rate() {
        let (before, after) = (ClockId::Log(1), ClockId::Log(2));
        let nodes = [(LOG, 0), (before, 1), (after, 1)].map(|(clock, k)| Node { clock, crystal: Crystal::Quartz(k) });
        let mark = |a, b, t: f64, u: f64| Evidence::new(EvidenceKind::Mark, (a, t), (b, u), 0.05, "mark");
        let rate = 1.0 + 40e-6;
        let evidence = vec![
            mark(LOG, before, 0.0, 10.0),
            mark(LOG, before, 7200.0, 10.0 + 7200.0 * rate),
            mark(LOG, after, 8000.0, 3.0),
        ];
        let network = Network::solve(nodes.to_vec(), LOG, evidence, QUARTZ_SIGMA);
        let [first, second] = [before, after].map(|log| network.fit(LOG, log).expect("fit"));
        assert!((first.rate - second.rate).abs() < 1e-12 && (first.rate - rate).abs() < 5e-6, "{first:?} {second:?}");
        assert!(second.cov[1][1].sqrt() < 10.5e-6, "{}", second.cov[1][1].sqrt());
    }

    /// Nothing joins them to the reference: what they say of each other stands, wrong evidence among it is refused, and the rate of the
    /// logger's other part, which is joined, serves them too.
    #[test]
    fn clocks_apart_from_the_reference_are_joined_among_themselves() {
        let (before, after) = (ClockId::Log(1), ClockId::Log(2));
        let crystals = [(LOG, 0), (before, 1), (after, 1), (FILM, 2)];
        let nodes = crystals.map(|(clock, k)| Node { clock, crystal: Crystal::Quartz(k) });
        let mark = |a, b, t: f64, u: f64| Evidence::new(EvidenceKind::Mark, (a, t), (b, u), 0.05, "mark");
        let rate = 1.0 + 40e-6;
        let evidence = vec![
            mark(LOG, before, 0.0, 10.0),
            mark(LOG, before, 7200.0, 10.0 + 7200.0 * rate),
            mark(FILM, after, 10.0, 20.0),
            mark(FILM, after, 40.0, 110.0),
            mark(FILM, after, 70.0, 80.0),
        ];
        let network = Network::solve(nodes.to_vec(), LOG, evidence, QUARTZ_SIGMA);
        assert!(network.fit(FILM, LOG).is_none() && network.fit(LOG, after).is_none());
        let fit = network.fit(FILM, after).expect("fit");
        assert!((fit.at(40.0) - 50.0).abs() < 1e-3 && (fit.sigma(40.0) - 0.05 / 2f64.sqrt()).abs() < 1e-3, "{fit:?}");
        assert_eq!(fit.evidence.iter().map(|e| e.used).collect::<Vec<_>>(), [true, false, true]);
        // Without the other part's marks: two crystals, 41 ppm.
        let sigma = fit.cov[1][1].sqrt();
        assert!(sigma < 36e-6 && fit.rate > 1.0 + 15e-6, "{sigma} {}", fit.rate);
    }

    /// Marks between a film and another log serve its fit onto the reference.
    #[test]
    fn a_film_is_joined_through_another_log() {
        let other = ClockId::Log(1);
        let evidence = vec![
            Evidence::new(EvidenceKind::Mark, (LOG, 100.0), (other, 20.0), 0.03, "a"),
            Evidence::new(EvidenceKind::Mark, (FILM, 3.0), (other, 21.0), 0.04, "b"),
        ];
        let network = Network::solve(nodes(&[LOG, other, FILM]), LOG, evidence, QUARTZ_SIGMA);
        let fit = network.fit(FILM, LOG).expect("fit");
        assert!((fit.at(3.0) - 101.0).abs() < 1e-9 && (fit.sigma(3.0) - 0.05).abs() < 1e-6, "{fit:?}");
        assert_eq!(fit.evidence.len(), 1);
    }
}
