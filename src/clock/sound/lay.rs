//! Lays the tracks of tones along recorded speeds, each along each, and takes what fits best.

use super::Track;
use super::coarse::{Coarse, moves};
use super::fine::{Fine, MOST_DRIFT, settle};
use super::recorded::Recorded;
use crate::clock::{ClockId, Evidence, EvidenceKind};
use crate::signal::Channel;

/// What may be left over in a second, in units of what may be at any moment: on the mean of all seconds, and in the worst. Over 400
/// seeds the right flight leaves 0.5 and 2.0 at most; another one, the same but for its gusts and some rotor speeds, mostly more.
const MOST_MISFIT: (f64, f64) = (0.58, 2.5);
/// The least share of the moments about changes that agree: a tone is often lost on the lower part of a run-up.
const LEAST_AGREE: f64 = 0.4;
/// Tones whose changes are explained by this share of what the best one's are say much.
const SAYS_MUCH: f64 = 0.15;
/// Two tones must not be further apart, in standard deviations.
const APART: f64 = 5.0;
/// Tones that the owner names may be off by this much, and have so many harmonics.
const RATIO: f64 = 0.01;
const HARMONICS: u32 = 12;

/// A speed that a logger recorded.
#[derive(Debug, Clone)]
pub struct Speed<'a> {
    /// The log's clock.
    pub clock: ClockId,
    /// What to call it.
    pub name: String,
    /// Its numbers, in any unit that is zero at rest.
    pub channel: &'a Channel,
    /// Hertz of tones for one unit of the speed, where the owner knows them: no others are taken, but for their harmonics. Any
    /// tone will do where this is empty.
    pub tones: Vec<f64>,
}

/// A sound that was laid along a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// The pieces, one for each stretch in which the speed changes.
    pub evidence: Vec<Evidence>,
    /// The log's time less the film's, in seconds, and its standard deviation: the mean of the pieces.
    pub offset_s: f64,
    /// See `offset_s`.
    pub sigma_s: f64,
    /// Which speed of those given, and which track, match best.
    pub speed: usize,
    /// See `speed`.
    pub track: usize,
    /// Hertz of the tone for one unit of the speed.
    pub hz_per_unit: f64,
    /// Normalised correlation of the changes at the best place.
    pub correlation: f64,
    /// The gain over the offset in seconds at every offset that was tried, 1 at its peak.
    pub profile: Vec<(f64, f64)>,
}

/// Lays the tones of a film's sound along recorded speeds, whichever fit best. The error says why that cannot be done.
pub fn lay(film: ClockId, tracks: &[Track], speeds: &[Speed<'_>]) -> Result<Laid, String> {
    if tracks.iter().all(|track| track.heard() * track.hz.len() as f64 * track.step_s < 5.0) {
        return Err("no tone stands out of the sound".into());
    }
    let recorded = speeds.iter().enumerate().filter_map(|(i, speed)| Some((i, Recorded::of(speed.channel)?)));
    let mut recorded: Vec<(usize, Recorded<'_>)> = recorded.collect();
    if recorded.is_empty() {
        return Err("no rotor or engine speed was recorded".into());
    }
    recorded.retain(|(_, recorded)| moves(recorded));
    if recorded.is_empty() {
        return Err("the recorded speed is steady all through: nothing to match".into());
    }
    // Each track belongs to the speed whose changes it shows best.
    let of_track = |(t, track): (usize, &Track)| {
        let pairs = recorded.iter().filter_map(|(s, recorded)| Some((t, *s, recorded, Coarse::find(track, recorded)?)));
        pairs.max_by(|a, b| a.3.gain.total_cmp(&b.3.gain))
    };
    let mut pairs: Vec<_> = tracks.iter().enumerate().filter_map(of_track).collect();
    pairs.sort_by(|a, b| b.3.gain.total_cmp(&a.3.gain));
    let most = pairs.first().map_or(0.0, |pair| pair.3.gain);
    let mut best: Option<Laid> = None;
    let mut refused = None;
    for (t, s, recorded, coarse) in &pairs {
        let settled = coarse.holds().map(|()| settle(&tracks[*t], recorded, coarse.offset_s));
        let laid = match settled {
            Ok(Some(fine)) if !named(&speeds[*s], fine.constant.exp()) => {
                let (name, hz) = (&speeds[*s].name, fine.constant.exp());
                let text = "is no harmonic of a [[tone]] of the panel file";
                refused
                    .get_or_insert(format!("the tone that fits `{name}`, of {hz:.3} Hz for each unit of it, {text}"));
                continue;
            }
            Ok(Some(fine)) => put(film, (*s, &speeds[*s]), *t, coarse, &fine),
            Ok(None) => Err("the speed is steady while the sound is heard: nothing to match".into()),
            Err(why) => {
                refused.get_or_insert(why);
                continue;
            }
        };
        match laid {
            Ok(laid) => match &best {
                Some(other) if coarse.gain > SAYS_MUCH * most && apart(&laid, other) => {
                    let text = "two tones fit the log at two offsets";
                    return Err(format!("{text}, {:.2} s and {:.2} s", other.offset_s, laid.offset_s));
                }
                Some(other) if other.sigma_s <= laid.sigma_s => {}
                _ => best = Some(laid),
            },
            // What all tones say that say much must hold: of another flight, one of them often seems to fit.
            Err(why) if coarse.gain > SAYS_MUCH * most => return Err(why),
            Err(why) => {
                refused.get_or_insert(why);
            }
        }
    }
    best.ok_or_else(|| refused.unwrap_or_else(|| "film and log have too little in common".into()))
}

/// Whether two pieces contradict each other, whatever the clocks' drift from one to the other.
fn apart(a: &Laid, b: &Laid) -> bool {
    let disagree = |a: &Evidence, b: &Evidence| {
        let ([(_, film_a), (_, log_a)], [(_, film_b), (_, log_b)]) = (a.on, b.on);
        let may_be = APART * a.sigma_s.hypot(b.sigma_s) + MOST_DRIFT * (film_a - film_b).abs();
        (log_a - film_a - log_b + film_b).abs() > may_be
    };
    a.evidence.iter().any(|piece| b.evidence.iter().any(|other| disagree(piece, other)))
}

/// Whether a tone is one of those that the owner named, if any.
fn named(speed: &Speed<'_>, hz_per_unit: f64) -> bool {
    let is = |tone: &f64| (1..=HARMONICS).any(|h| (f64::from(h) * tone / hz_per_unit).ln().abs() < RATIO);
    speed.tones.is_empty() || speed.tones.iter().any(is)
}

fn put(
    film: ClockId,
    (s, speed): (usize, &Speed<'_>),
    track: usize,
    coarse: &Coarse,
    fine: &Fine,
) -> Result<Laid, String> {
    let (mean, worst) = fine.misfit;
    if mean > MOST_MISFIT.0 || worst > MOST_MISFIT.1 || fine.agree < LEAST_AGREE {
        let (name, share) = (&speed.name, 100.0 * fine.agree);
        return Err(format!(
            "the tone that fits `{name}` best follows it in {share:.0} % of its changes, and is off by {mean:.1} times what it is \
             uncertain by on the mean, {worst:.1} times at worst: the sound of another flight?"
        ));
    }
    let hz_per_unit = fine.constant.exp();
    let usual = speed.channel.usual().unwrap_or(1.0);
    let unit = speed.channel.unit.as_deref().unwrap_or_default();
    let (hz, correlation) = (usual * hz_per_unit, coarse.correlation);
    let why =
        format!("sound: a tone of {hz:.1} Hz where {} is {usual:.1} {unit}, correlation {correlation:.2}", speed.name);
    let evidence = fine.stretches.iter().map(|(t, offset, sigma)| {
        Evidence::new(EvidenceKind::Sound, (film, *t), (speed.clock, t + offset), *sigma, why.clone())
    });
    let weight: f64 = fine.stretches.iter().map(|s| s.2.powi(-2)).sum();
    Ok(Laid {
        evidence: evidence.collect(),
        offset_s: fine.stretches.iter().map(|(_, offset, sigma)| offset * sigma.powi(-2)).sum::<f64>() / weight,
        sigma_s: weight.powf(-0.5),
        speed: s,
        track,
        hz_per_unit,
        correlation: coarse.correlation,
        profile: coarse.profile.clone(),
    })
}
