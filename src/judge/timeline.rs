//! A value that jumps from state to state over session time.

/// Which state holds at any session time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Timeline<T> {
    /// Until the first turn.
    first: T,
    /// From when on which state holds, in session seconds that rise strictly; neighbours differ.
    turns: Vec<(f64, T)>,
}

impl<T: Copy + PartialEq> Timeline<T> {
    /// One that holds the same state throughout, until something is added.
    pub(super) const fn new(first: T) -> Self {
        Self { first, turns: Vec::new() }
    }

    /// One that holds `first` until the turns, which are given in the order of their times.
    pub fn of(first: T, turns: &[(f64, T)]) -> Self {
        let mut line = Self::new(first);
        turns.iter().for_each(|&(from_s, state)| line.turn(from_s, state));
        line
    }

    /// From a time on, which is not before that of the last turn, another state holds.
    pub(super) fn turn(&mut self, from_s: f64, state: T) {
        if self.turns.last().is_some_and(|last| last.0 >= from_s) {
            self.turns.pop();
        }
        if self.turns.last().map_or(self.first, |last| last.1) != state {
            self.turns.push((from_s, state));
        }
    }

    /// The same with other words for the states.
    pub(super) fn map<U: Copy + PartialEq>(&self, word: impl Fn(T) -> U) -> Timeline<U> {
        let mut line = Timeline::new(word(self.first));
        self.turns.iter().for_each(|&(from_s, state)| line.turn(from_s, word(state)));
        line
    }

    /// Every stretch of one state between two times: from when to when, and which.
    pub fn stretches(&self, from_s: f64, to_s: f64) -> impl Iterator<Item = (f64, f64, T)> {
        let first = std::iter::once((f64::NEG_INFINITY, self.first));
        let starts: Vec<(f64, T)> = first.chain(self.turns.iter().copied()).collect();
        let ends: Vec<f64> = self.turns.iter().map(|turn| turn.0).chain([f64::INFINITY]).collect();
        let both = starts.into_iter().zip(ends);
        both.map(move |((from, state), to)| (from.max(from_s), to.min(to_s), state)).filter(|(from, to, _)| from < to)
    }

    /// The state at a session time.
    pub fn at(&self, time_s: f64) -> T {
        let after = self.turns.partition_point(|turn| turn.0 <= time_s);
        after.checked_sub(1).and_then(|i| self.turns.get(i)).map_or(self.first, |turn| turn.1)
    }

    /// Since when the state at a session time has held; none before the first turn.
    pub fn since(&self, time_s: f64) -> Option<f64> {
        let after = self.turns.partition_point(|turn| turn.0 <= time_s);
        Some(self.turns.get(after.checked_sub(1)?)?.0)
    }

    /// From when on which state holds; before the first of them, what [`Timeline::at`] says of any earlier time.
    pub fn turns(&self) -> &[(f64, T)] {
        &self.turns
    }
}
