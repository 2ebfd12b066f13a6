//! How an instrument comes and goes with its condition.

use crate::judge::Timeline;

/// The share of itself that an instrument has over session time, by its condition alone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fade {
    /// Before the first turn.
    first: bool,
    /// When the condition turned, what share it had reached, and whether it holds from then on.
    turns: Vec<(f64, f64, bool)>,
    fade_s: f64,
}

impl Fade {
    pub fn new(holds: &Timeline<bool>, fade_s: f64) -> Self {
        let mut fade = Self { first: holds.at(f64::NEG_INFINITY), turns: Vec::new(), fade_s };
        for &(time, on) in holds.turns() {
            fade.turns.push((time, fade.at(time), on));
        }
        fade
    }

    /// 0 where it is not shown, 1 where it is fully there.
    pub fn at(&self, session_s: f64) -> f64 {
        let after = self.turns.partition_point(|turn| turn.0 <= session_s);
        let Some(&(time, share, on)) = after.checked_sub(1).and_then(|i| self.turns.get(i)) else {
            return f64::from(u8::from(self.first));
        };
        let moved = if self.fade_s > 0.0 { (session_s - time) / self.fade_s } else { 1.0 };
        if on { (share + moved).min(1.0) } else { (share - moved).max(0.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_comes_and_goes_softly_and_never_jumps() {
        let turns = [(10.0, true), (20.0, false), (20.5, true), (30.0, false)];
        let holds = Timeline::of(false, &turns);
        let fade = Fade::new(&holds, 2.0);
        let found = [9.0, 10.0, 11.0, 12.0, 20.0, 20.5, 21.0, 30.0, 31.0, 32.0].map(|t| fade.at(t));
        assert_eq!(found, [0.0, 0.0, 0.5, 1.0, 1.0, 0.75, 1.0, 1.0, 0.5, 0.0]);
        let hard = Fade::new(&holds, 0.0);
        assert_eq!([9.9, 10.0, 19.9, 20.0, 20.5].map(|t| hard.at(t)), [0.0, 1.0, 1.0, 0.0, 1.0]);
    }
}
