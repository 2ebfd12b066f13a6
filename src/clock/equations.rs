//! The equations of all clocks, and their least-squares solution.

use super::evidence::{ClockId, Evidence};
use super::network::{Crystal, Node};
use nalgebra::{DMatrix, DVector};

/// Of a crystal that the evidence shows to run wrong nothing is presumed but this.
const WRONG_RATE_SIGMA: f64 = 0.01;

/// Where the unknowns stand, and what they are.
#[derive(Debug, Clone)]
pub(super) struct State {
    /// Index of each node's offset; none for the reference, and for the first clock of others that nothing joins to it.
    pub(super) offset: Vec<Option<usize>>,
    /// For each node the one from which its offset counts: clocks that evidence joins share it.
    pub(super) island: Vec<usize>,
    /// Index of each node's rate; none for a true clock.
    pub(super) rate: Vec<Option<usize>>,
    /// Time on each clock about which its rate turns.
    pub(super) pivot: Vec<f64>,
    pub(super) solution: DVector<f64>,
    pub(super) cov: DMatrix<f64>,
    /// Each used equation's residual over its standard deviation, where it can be tested.
    pub(super) tested: Vec<(Equation, f64)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Equation {
    Evidence(usize),
    Crystal(usize),
}

impl State {
    /// Fits the evidence of those places that are used.
    pub(super) fn of(
        nodes: &[Node],
        reference: ClockId,
        evidence: &[Evidence],
        is_used: &dyn Fn(usize) -> bool,
        wrong_crystals: &[usize],
        quartz_sigma: f64,
    ) -> Self {
        let place = |clock: ClockId| nodes.iter().position(|n| n.clock == clock);
        let used: Vec<(usize, usize, usize)> = (0..evidence.len())
            .filter(|&i| is_used(i))
            .filter_map(|i| Some((i, place(evidence[i].on[0].0)?, place(evidence[i].on[1].0)?)))
            .collect();
        let r = place(reference).unwrap_or(0);
        // The reference first, then in the nodes' order: a log before a film.
        let rank = |node: usize| if node == r { 0 } else { node + 1 };
        let mut island: Vec<usize> = (0..nodes.len()).collect();
        for _ in nodes {
            for &(_, a, b) in &used {
                let least = if rank(island[a]) < rank(island[b]) { island[a] } else { island[b] };
                (island[a], island[b]) = (least, least);
            }
        }
        let mut crystals: Vec<usize> =
            nodes.iter().filter_map(|n| if let Crystal::Quartz(k) = n.crystal { Some(k) } else { None }).collect();
        crystals.sort_unstable();
        crystals.dedup();
        let mut count = 0;
        let mut next = |wanted: bool| {
            wanted.then(|| {
                count += 1;
                count - 1
            })
        };
        let offset: Vec<_> = island.iter().enumerate().map(|(node, first)| next(*first != node)).collect();
        let first = count;
        let rate_place = |k: usize| crystals.binary_search(&k).ok().map(|i| first + i);
        let rate: Vec<_> =
            nodes.iter().map(|n| if let Crystal::Quartz(k) = n.crystal { rate_place(k) } else { None }).collect();
        let n = first + crystals.len();
        let pivot = (0..nodes.len()).map(|c| {
            let on = used.iter().flat_map(|(i, ..)| evidence[*i].on).filter(|(id, _)| *id == nodes[c].clock);
            let times: Vec<f64> = on.map(|(_, t)| t).collect();
            times.iter().sum::<f64>() / times.len().max(1) as f64
        });
        let mut state = Self {
            offset,
            island,
            rate,
            pivot: pivot.collect(),
            solution: DVector::zeros(n),
            cov: DMatrix::zeros(n, n),
            tested: Vec::new(),
        };
        let mut rows: Vec<(Equation, DVector<f64>, f64)> = Vec::new();
        for &(i, a, b) in &used {
            let [(_, ta), (_, tb)] = evidence[i].on;
            let mut row = DVector::zeros(n);
            state.add(&mut row, a, ta, 1.0, r);
            state.add(&mut row, b, tb, -1.0, r);
            let sigma = evidence[i].sigma_s;
            rows.push((Equation::Evidence(i), row / sigma, (tb - ta) / sigma));
        }
        for (j, &k) in crystals.iter().enumerate() {
            let mut row = DVector::zeros(n);
            row[first + j] = 1.0 / if wrong_crystals.contains(&k) { WRONG_RATE_SIGMA } else { quartz_sigma };
            rows.push((Equation::Crystal(k), row, 0.0));
        }
        state.fit(&rows, wrong_crystals);
        state
    }

    /// Least squares of whitened equations, by orthogonal triangles; and each equation's residual over its own deviation.
    fn fit(&mut self, rows: &[(Equation, DVector<f64>, f64)], wrong_crystals: &[usize]) {
        let n = self.solution.len();
        if n == 0 {
            return;
        }
        let matrix = DMatrix::from_fn(rows.len(), n, |i, j| rows[i].1[j]);
        let right = DVector::from_fn(rows.len(), |i, _| rows[i].2);
        let (q, r) = matrix.clone().qr().unpack();
        let Some(inverse) = r.try_inverse() else { return };
        self.solution = &inverse * (q.transpose() * &right);
        self.cov = &inverse * inverse.transpose();
        let residuals = right - matrix * &self.solution;
        for (i, (equation, ..)) in rows.iter().enumerate() {
            let free = 1.0 - q.row(i).norm_squared();
            let testable = free > 1e-9 && !matches!(equation, Equation::Crystal(k) if wrong_crystals.contains(k));
            if testable {
                self.tested.push((*equation, residuals[i] / free.sqrt()));
            }
        }
    }

    pub(super) fn offset_of(&self, node: usize) -> f64 {
        self.offset[node].map_or(0.0, |i| self.solution[i])
    }

    pub(super) fn rate_of(&self, node: usize) -> f64 {
        self.rate[node].map_or(0.0, |i| self.solution[i])
    }

    /// Adds what the unknowns do to the session time of a clock's time.
    pub(super) fn add(&self, row: &mut DVector<f64>, node: usize, time: f64, sign: f64, reference: usize) {
        if let Some(i) = self.offset[node] {
            row[i] += sign;
        }
        self.add_rate(row, node, sign * (time - self.pivot[node]), reference);
    }

    /// Adds so much of a clock's rate against the reference's.
    pub(super) fn add_rate(&self, row: &mut DVector<f64>, node: usize, much: f64, reference: usize) {
        for (of, much) in [(node, much), (reference, -much)] {
            if let Some(i) = self.rate[of] {
                row[i] += much;
            }
        }
    }
}
