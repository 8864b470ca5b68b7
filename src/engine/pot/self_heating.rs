//! The course of a batch in given air: end of pot life, peak temperature, runaway.

use chrono::TimeDelta;

use super::kinetics::{Kinetics, Line};
use super::ode::{Step, Watch, follow};
use super::vessel::Vessel;
use crate::engine::cure::{AirLine, AirSegment};
use crate::engine::units::{Celsius, Grams};

/// A batch as mixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portion {
    /// Mass of all parts.
    pub mass: Grams,
    /// The vessel.
    pub vessel: Vessel,
    /// Temperature when mixed; None: that of the air.
    pub temperature: Option<Celsius>,
}

/// The calculated course of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SelfHeating {
    /// Pot life.
    pub usable: TimeDelta,
    /// Peak temperature during the pot life.
    pub peak: Celsius,
    /// Temperature at the end of the pot life.
    pub at_end: Celsius,
    /// When its own heat outruns the cooling, if that happens during the pot life.
    pub outruns: Option<TimeDelta>,
    /// Peak temperature if it is left standing. An estimate: the reaction goes on, slower and slower, to four
    /// working lives.
    pub left: Celsius,
}

/// The full reaction in working lives: after a = 1 the rate decreases linearly to zero at this a. An unfilled
/// epoxy heats by 236 K in all (472 J/g over 2.0 J/(g·K), an order of magnitude, from memory), so the working
/// life takes a quarter, 59 K.
pub const REACTION: f64 = 4.0;
/// A batch that is left is calculated for at most this time, in seconds.
const LEFT_FOR: f64 = 48.0 * 3600.0;
/// A longer time counts as never, in seconds.
const LONGEST: f64 = 3.2e9;

/// State of a batch: seconds after mixing, a, kelvin.
type State = (f64, [f64; 2]);

/// A batch with its kinetics in its vessel.
struct Pot<'a> {
    kinetics: &'a Kinetics,
    /// τ in seconds.
    cooling: f64,
}

/// Observed during the run.
struct Seen {
    peak: f64,
    outruns: Option<f64>,
}

impl Kinetics {
    /// The course of a batch mixed at the start of `air`. None if its pot life exceeds a hundred years or its
    /// mass is zero.
    pub fn self_heating(&self, portion: &Portion, air: &AirLine) -> Option<SelfHeating> {
        let (pot, end, seen) = self.while_usable(portion, air)?;
        let left = pot.left(air, end).max(seen.peak);
        Some(SelfHeating {
            usable: time(end.0),
            peak: Celsius::from_kelvin(seen.peak),
            at_end: Celsius::from_kelvin(end.1[1]),
            outruns: seen.outruns.map(time),
            left: Celsius::from_kelvin(left),
        })
    }

    /// The pot life in seconds, and the peak temperature during it in kelvin.
    pub(super) fn end_and_peak(&self, portion: &Portion, air: &AirLine) -> Option<(f64, f64)> {
        self.while_usable(portion, air).map(|(_, end, seen)| (end.0, seen.peak))
    }

    fn while_usable(&self, portion: &Portion, air: &AirLine) -> Option<(Pot<'_>, State, Seen)> {
        let cooling = portion.vessel.cooling(portion.mass);
        if !(cooling > 0.0 && cooling.is_finite()) {
            return None;
        }
        let pot = Pot { kinetics: self, cooling };
        let start = portion.temperature.unwrap_or_else(|| air.at(TimeDelta::zero())).kelvin();
        let mut seen = Seen { peak: start, outruns: None };
        let end = pot.to_the_end(air, start, &mut seen)?;
        Some((pot, end, seen))
    }
}

fn time(seconds: f64) -> TimeDelta {
    TimeDelta::nanoseconds((seconds.min(LONGEST) * 1e9).round() as i64)
}

impl Pot<'_> {
    fn leg(&self, air: AirSegment, kelvin: f64) -> Leg {
        let (warming, cooling) = (self.kinetics.warming().kelvin(), self.cooling);
        Leg { line: self.kinetics.line_at(kelvin), warming, cooling, air }
    }

    /// From mixing to a = 1.
    fn to_the_end(&self, air: &AirLine, start: f64, seen: &mut Seen) -> Option<State> {
        let mut state: State = (0.0, [0.0, start]);
        for segment in air.segments_from(0.0) {
            loop {
                match self.leg(segment, state.1[1]).run(state, seen)? {
                    Ended::Through(end) => return (end.0 < LONGEST).then_some(end),
                    Ended::Bend(at) => state = at,
                    Ended::Air(at) => {
                        state = at;
                        break;
                    }
                }
            }
        }
        None
    }

    /// The peak temperature after the end of the pot life, in kelvin.
    fn left(&self, air: &AirLine, end: State) -> f64 {
        let mut state = end;
        let mut peak = end.1[1];
        for segment in air.segments_from(end.0) {
            let until = segment.to.min(end.0 + LEFT_FOR);
            while state.0 < until {
                let leg = self.leg(segment, state.1[1]);
                let mut falls = leg.over_time(state.0, &state.1)[1] < 0.0;
                let run = follow(
                    |t, y| leg.over_time(t, y),
                    state,
                    until,
                    |step| {
                        falls = step.to.1[1] < step.from.1[1];
                        peak = peak.max(highest(step, |y| y[1], falls));
                        if falls || leg.line.is_past(step.to.1[1]) { Watch::Stop } else { Watch::On }
                    },
                );
                match run {
                    Some(reached) if !falls && reached.0 > state.0 => state = reached,
                    _ => return peak,
                }
            }
        }
        peak
    }
}

/// A batch over a linear piece of the air and of the table, where everything is smooth.
struct Leg {
    line: Line,
    warming: f64,
    cooling: f64,
    air: AirSegment,
}

/// Where a leg ended.
enum Ended {
    /// End of the pot life.
    Through(State),
    /// Another piece of the table applies.
    Bend(State),
    /// Another stretch of the air begins.
    Air(State),
}

impl Leg {
    /// (da/dt, dT/dt). After a = 1 the reaction slows down.
    fn over_time(&self, t: f64, [used, kelvin]: &[f64; 2]) -> [f64; 2] {
        let pace = ((REACTION - used) / (REACTION - 1.0)).clamp(0.0, 1.0);
        let rate = self.line.rate(*kelvin) * pace;
        [rate, self.warming * rate - (kelvin - self.air.kelvin_at(t)) / self.cooling]
    }

    /// (dt/da, dT/da), up to a = 1.
    fn over_use(&self, [t, kelvin]: &[f64; 2]) -> [f64; 2] {
        let rate = self.line.rate(*kelvin);
        [1.0 / rate, self.warming - (kelvin - self.air.kelvin_at(*t)) / (self.cooling * rate)]
    }

    /// Integrates over time to the next knot of the air or of the table; in the last step over a, so that a = 1
    /// is met exactly (Hénon's trick).
    fn run(&self, start: State, seen: &mut Seen) -> Option<Ended> {
        let mut before = start;
        if self.air.to.is_finite() {
            let mut bend = None;
            let past = |_: f64, y: &[f64; 2]| self.line.is_past(y[1]);
            let reached = follow(
                |t, y| self.over_time(t, y),
                start,
                self.air.to,
                |step| {
                    if past(step.to.0, &step.to.1) {
                        let t = step.first(past);
                        bend = Some((t, step.at(t)));
                    } else if step.to.1[0] < 1.0 {
                        seen.step(self, step, |t, y| (t, y[1]));
                        before = step.to;
                        return Watch::On;
                    }
                    Watch::Stop
                },
            )?;
            match bend {
                Some(at) if at.1[0] < 1.0 => return Some(Ended::Bend(at)),
                None if reached.1[0] < 1.0 => return Some(Ended::Air(reached)),
                _ => {}
            }
        }
        let (t, [used, kelvin]) = before;
        let mut bend = None;
        let past = |_: f64, y: &[f64; 2]| self.line.is_past(y[1]);
        let reached = follow(
            |_, y| self.over_use(y),
            (used, [t, kelvin]),
            1.0,
            |step| {
                if past(step.to.0, &step.to.1) {
                    let used = step.first(past);
                    let [t, kelvin] = step.at(used);
                    bend = Some((t, [used, kelvin]));
                    return Watch::Stop;
                }
                seen.step(self, step, |_, y| (y[0], y[1]));
                Watch::On
            },
        )?;
        let (_, [t, kelvin]) = reached;
        Some(bend.map_or(Ended::Through((t, [1.0, kelvin])), Ended::Bend))
    }

    /// Whether the heat of the reaction outruns the cooling: the batch warms, and is warmer than the air by
    /// more than R·T²/E. The curve T(a) turns upwards there (criterion of Adler and Enig), which for a reaction
    /// that does not slow down is Semenov's.
    fn outruns(&self, t: f64, kelvin: f64) -> bool {
        let excess = kelvin - self.air.kelvin_at(t);
        excess > self.line.e_fold(kelvin) && self.over_time(t, &[0.0, kelvin])[1] > 0.0
    }
}

impl Seen {
    /// Evaluates a step; `read` gives its seconds and kelvin.
    fn step(&mut self, leg: &Leg, step: &Step<'_, 2>, read: impl Fn(f64, &[f64; 2]) -> (f64, f64)) {
        let outruns = |x: f64, y: &[f64; 2]| {
            let (t, kelvin) = read(x, y);
            leg.outruns(t, kelvin)
        };
        if self.outruns.is_none() && outruns(step.to.0, &step.to.1) {
            let x = step.first(outruns);
            self.outruns = Some(read(x, &step.at(x)).0);
        }
        let (t, kelvin) = read(step.to.0, &step.to.1);
        let turns = leg.over_time(t, &[0.0, kelvin])[1] < 0.0;
        self.peak = self.peak.max(highest(step, |y| y[1], turns));
    }
}

/// The highest temperature in a step; inside it only if the temperature may turn there.
fn highest(step: &Step<'_, 2>, kelvin: impl Fn(&[f64; 2]) -> f64, turns: bool) -> f64 {
    let ends = kelvin(&step.from.1).max(kelvin(&step.to.1));
    if !turns {
        return ends;
    }
    let at = |x: f64| kelvin(&step.at(x));
    let (mut low, mut high) = (step.from.0, step.to.0);
    for _ in 0..40 {
        let third = (high - low) / 3.0;
        if at(low + third) < at(high - third) { low += third } else { high -= third }
    }
    ends.max(at(f64::midpoint(low, high)))
}
