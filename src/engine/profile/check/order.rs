//! What must come before what, at every temperature the product is made for.

use chrono::TimeDelta;
use toml::Spanned;

use crate::engine::profile::fault::Faults;
use crate::engine::profile::file::Section;
use crate::engine::profile::product::{Application, PotLife, Stage};
use crate::engine::profile::table::TimeTable;
use crate::engine::profile::value::degrees;
use crate::engine::units::{Celsius, duration_text};

/// The temperatures at which a product must make sense.
pub(super) struct Climate {
    /// The coolest at which it still progresses.
    standing: Celsius,
    /// The coolest at which it may be applied.
    coolest: Celsius,
    /// The warmest at which it may be applied.
    warmest: Celsius,
}

impl Climate {
    /// The climate of a product's `[application]`.
    pub(super) fn of(application: &Application) -> Self {
        let coolest = application.coolest;
        let standing = application.stall_below.filter(|stall| *stall < coolest).unwrap_or(coolest);
        Self { standing, coolest, warmest: application.warmest }
    }
}

/// Reports a window that closes before it opens.
pub(super) fn opens_before_it_closes(
    open: &TimeTable,
    close: &TimeTable,
    climate: &Climate,
    section: &Section<'_>,
) {
    if let Some(clash) = worst(open, close, climate.standing, climate.warmest) {
        let (first, second) = clash.times();
        let what =
            format!("at {} the window opens after {first}, but closes after {second}", degrees(clash.at));
        section.faults().add(&section.place("close"), what, clash.mend());
    }
}

/// Reports stages in an order that no film has.
pub(super) fn stages_follow(stages: &[(Stage, TimeTable)], climate: &Climate, section: &Section<'_>) {
    let in_order = [Stage::TackFree, Stage::Sandable, Stage::FullCure];
    let given: Vec<_> =
        in_order.iter().filter_map(|stage| stages.iter().find(|(given, _)| given == stage)).collect();
    for pair in given.windows(2) {
        let [(before, earlier), (after, later)] = pair else { continue };
        if let Some(clash) = worst(earlier, later, climate.coolest, climate.warmest) {
            let (first, second) = clash.times();
            let what = format!(
                "at {} it is {} after {first}, but {} after {second}",
                degrees(clash.at),
                before.name(),
                reached(*after),
            );
            section.faults().add(&section.place(after.key()), what, clash.mend());
        }
    }
}

fn reached(stage: Stage) -> &'static str {
    if stage == Stage::FullCure { "fully cured" } else { stage.name() }
}

/// Reports a larger portion that is said to be usable for longer: it warms itself more, so it is not.
pub(super) fn larger_pots_set_sooner(portions: &[Spanned<PotLife>], climate: &Climate, faults: &Faults<'_>) {
    for pair in portions.windows(2) {
        let [small, large] = pair else { continue };
        if let Some(clash) =
            worst(&large.get_ref().times, &small.get_ref().times, climate.coolest, climate.warmest)
        {
            let (longer, shorter) = clash.times();
            let what = format!(
                "at {} this portion is usable for {longer}, a smaller one for {shorter}",
                degrees(clash.at)
            );
            faults.add(&large.span(), what, "a larger portion heats itself more and sets sooner");
        }
    }
}

/// Where, within the air that the product is applied in, something that should come first comes last: at what
/// temperature, and both times.
pub(super) fn comes_late(first: &TimeTable, second: &TimeTable, air: &Application) -> Option<String> {
    let clash = worst(first, second, air.coolest, air.warmest)?;
    let (first, second) = clash.times();
    Some(format!("at {}: {first} against {second}", degrees(clash.at)))
}

/// Where something that should come first comes last.
struct Clash {
    at: Celsius,
    first: TimeDelta,
    second: TimeDelta,
    guessed: bool,
}

impl Clash {
    /// Both times, told so that they differ.
    fn times(&self) -> (String, String) {
        let (first, second) = (duration_text(self.first), duration_text(self.second));
        if first != second {
            return (first, second);
        }
        let minutes = |time: TimeDelta| format!("{:.1} min", time.num_milliseconds() as f64 / 60_000.0);
        (minutes(self.first), minutes(self.second))
    }

    fn mend(&self) -> &'static str {
        if self.guessed {
            "give both points up to there, or correct `air` and `stall_below`"
        } else {
            "check both against the data sheet"
        }
    }
}

/// Where `first` exceeds `second` the most, if it does anywhere; rather at a temperature that the data
/// sheet speaks of than at one that it does not.
///
/// ln(time) of both is straight over 1/T between their points, so the gap between them is widest at a
/// point or at an end of the range: no grid is needed.
fn worst(first: &TimeTable, second: &TimeTable, low: Celsius, high: Celsius) -> Option<Clash> {
    let points = first.points().iter().chain(second.points()).map(|point| point.at);
    let within = points.filter(|at| *at > low && *at < high);
    let known = |at: Celsius| !first.is_extrapolated(at) && !second.is_extrapolated(at);
    let excess = |at: Celsius| (first.seconds_at(at) / second.seconds_at(at)).ln();
    let clashes =
        within.chain([low, high]).map(|at| (known(at), excess(at), at)).filter(|(_, gap, _)| *gap > 1e-9);
    let (known, _, at) = clashes.max_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)))?;
    Some(Clash { at, first: first.time_at(at), second: second.time_at(at), guessed: !known })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::engine::profile::table::Point;
    use crate::engine::units::ActivationEnergy;

    fn table(points: &[(f64, i64)]) -> TimeTable {
        let points = points
            .iter()
            .map(|&(at, minutes)| Point { at: Celsius::new(at), time: TimeDelta::minutes(minutes) });
        TimeTable::new(points.collect(), ActivationEnergy::RULE_OF_THUMB).unwrap()
    }

    #[test]
    fn a_contradiction_in_the_data_sheet_is_reported_before_a_guess() {
        let (open, close) = (table(&[(20.0, 240)]), table(&[(20.0, 180)]));
        let clash = worst(&open, &close, Celsius::new(5.0), Celsius::new(30.0)).unwrap();
        assert_eq!((clash.at, clash.guessed), (Celsius::new(20.0), false));
    }

    fn tables() -> impl Strategy<Value = TimeTable> {
        (prop::collection::btree_set(-10_i32..50, 1..5), prop::collection::vec(0_i64..500, 5), 1_i64..2_000)
            .prop_map(|(at, falls, least)| {
                let mut minutes = least + falls.iter().sum::<i64>();
                let points = at.into_iter().zip(falls).map(|(at, fall)| {
                    minutes -= fall;
                    (f64::from(at), minutes)
                });
                table(&points.collect::<Vec<_>>())
            })
    }

    proptest! {
        #[test]
        fn what_holds_at_points_and_ends_holds_on_a_fine_grid(first in tables(), second in tables()) {
            let (low, high) = (Celsius::new(-15.0), Celsius::new(45.0));
            if worst(&first, &second, low, high).is_none() {
                for step in 0..=1_200 {
                    let at = Celsius::new(low.degrees() + f64::from(step) * 0.05);
                    prop_assert!(first.seconds_at(at) <= second.seconds_at(at) * (1.0 + 1e-6), "{at:?}");
                }
            }
        }
    }
}
