//! What must come before what, at every temperature the product is made for.

use chrono::TimeDelta;
use toml::Spanned;

use crate::profile::fault::Faults;
use crate::profile::file::Section;
use crate::profile::product::{Application, PotLife, Stage};
use crate::profile::table::TimeTable;
use crate::profile::value::degrees;
use crate::units::{Celsius, duration_text};

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
            faults.add(&large.span(), what, "a larger portion warms itself more and sets sooner");
        }
    }
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
            "check both; give them points up to there, or narrow `air`"
        } else {
            "check both against the data sheet"
        }
    }
}

/// The temperature at which `first` exceeds `second` the most, if it does anywhere.
///
/// ln(time) of both is straight over 1/T between their points, so the gap between them is widest at a
/// point or at an end of the range: no grid is needed.
fn worst(first: &TimeTable, second: &TimeTable, low: Celsius, high: Celsius) -> Option<Clash> {
    let points = first.points().iter().chain(second.points()).map(|point| point.at);
    let within = points.filter(|at| *at > low && *at < high);
    let excess = |at: Celsius| (first.seconds_at(at) / second.seconds_at(at)).ln();
    let (at, gap) = within
        .chain([low, high])
        .map(|at| (at, excess(at)))
        .max_by(|(_, one), (_, other)| one.total_cmp(other))?;
    (gap > 1e-9).then(|| Clash {
        at,
        first: first.time_at(at),
        second: second.time_at(at),
        guessed: first.is_extrapolated(at) || second.is_extrapolated(at),
    })
}
