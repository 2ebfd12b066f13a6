//! Several logs and films on one clock: that of the reference log.

use super::evidence::{ClockId, Evidence};
use super::fit::ClockFit;
use super::network::{Crystal, Network, Node, QUARTZ_SIGMA};
use super::timestamps::{Dated, of_log, seconds};
use jiff::Timestamp;

/// The clocks of a flight before any evidence between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Clocks {
    /// Index of the log whose clock is the session's.
    pub reference: usize,
    /// What each log's own dates say.
    pub logs: Vec<Dated>,
    /// The logger of each log: logs of one number share its crystal, as the parts of a log whose logger was switched off and on.
    pub loggers: Vec<usize>,
    /// How many films there are, each with a clock of its own.
    pub films: usize,
}

/// The clocks of a flight on the reference log's.
#[derive(Debug, Clone)]
pub struct Joined {
    /// Session time to each log's time; none for a log that nothing joins. The reference's own is the identity.
    pub logs: Vec<Option<ClockFit>>,
    /// Each film's time to session time; none where nothing joins them.
    pub films: Vec<Option<ClockFit>>,
    /// All of it, for other pairs of clocks and for what was refused.
    pub network: Network,
}

impl Clocks {
    /// The instant from which UTC is counted: the first sample of the reference, or of the first log that knows UTC.
    pub fn epoch(&self) -> Option<Timestamp> {
        let start = |dated: &Dated| dated.start;
        self.logs.get(self.reference).and_then(start).or_else(|| self.logs.iter().find_map(start))
    }

    /// From when to when the logs that know UTC recorded, in seconds since [`Clocks::epoch`].
    pub fn utc_span(&self) -> Option<(f64, f64)> {
        let epoch = self.epoch()?;
        let spans = self.logs.iter().filter_map(|dated| {
            let start = seconds(dated.start?, epoch);
            Some((start, start + dated.duration_s))
        });
        spans.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    /// Joins the clocks by what the logs' dates say and by all other evidence.
    pub fn join(&self, evidence: Vec<Evidence>) -> Joined {
        let reference = ClockId::Log(self.reference);
        let dates = self
            .epoch()
            .into_iter()
            .flat_map(|epoch| self.logs.iter().enumerate().filter_map(move |(i, dated)| of_log(i, dated, epoch)));
        let evidence: Vec<Evidence> = dates.chain(evidence).collect();
        let logs = self.logs.iter().zip(&self.loggers).enumerate().map(|(i, (dated, &logger))| {
            let crystal =
                if dated.follows_utc && dated.start.is_some() { Crystal::True } else { Crystal::Quartz(logger) };
            Node { clock: ClockId::Log(i), crystal }
        });
        let first = self.loggers.iter().max().map_or(0, |l| l + 1);
        let films = (0..self.films).map(|i| Node { clock: ClockId::Film(i), crystal: Crystal::Quartz(first + i) });
        let utc = [Node { clock: ClockId::Utc, crystal: Crystal::True }];
        let nodes = logs.chain(films).chain(utc).collect();
        let network = Network::solve(nodes, reference, evidence, QUARTZ_SIGMA);
        Joined {
            logs: (0..self.logs.len()).map(|i| network.fit(reference, ClockId::Log(i))).collect(),
            films: (0..self.films).map(|i| network.fit(ClockId::Film(i), reference)).collect(),
            network,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_serve_where_marks_are_missing_and_nothing_is_made_up() {
        let dated = |text: Option<&str>| Dated {
            start: text.map(|t| t.parse().expect("instant")),
            resolution_s: 0.2,
            duration_s: 60.0,
            follows_utc: false,
        };
        let logs = vec![dated(Some("2026-05-02T09:00:10Z")), dated(Some("2026-05-02T09:00:00Z")), dated(None)];
        let clocks = Clocks { reference: 0, logs, loggers: vec![0, 1, 2], films: 1 };
        let joined = clocks.join(Vec::new());
        assert!((joined.logs[1].clone().expect("log").at(0.0) - 10.0).abs() < 1e-9);
        assert_eq!((joined.logs[0].clone(), &joined.logs[2], &joined.films[0]), (Some(ClockFit::same()), &None, &None));
        assert_eq!(clocks.utc_span(), Some((-10.0, 60.0)));
    }
}
