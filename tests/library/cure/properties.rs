//! What holds for every coat over every shop.

use chrono::TimeDelta;
use curewright::engine::cure::{Bound, Course, History, Law, Outlook, Reading};
use curewright::engine::profile::{Cure, Point, TimeTable};
use curewright::engine::units::{ActivationEnergy, Celsius, Humidity, KelvinDelta, Moment};
use proptest::prelude::*;

const BOUNDS: [Bound; 3] = [Bound::Coolest, Bound::AsRead, Bound::Warmest];

/// One reading as plain numbers: seconds, °C, and humidity as a fraction.
type Plain = (i64, f64, f64);

/// A coat and the readings of its shop.
#[derive(Debug, Clone)]
struct Case {
    readings: Vec<Plain>,
    damp_known: bool,
    table: TimeTable,
    law: Law,
    thermometer_error: f64,
    start: i64,
}

impl Case {
    fn history(&self) -> History {
        self.history_of(&self.readings)
    }

    fn history_of(&self, readings: &[Plain]) -> History {
        let readings = readings.iter().map(|&(seconds, celsius, humidity)| Reading {
            at: at(seconds),
            air: Celsius::new(celsius),
            humidity: self.damp_known.then_some(Humidity::from_fraction(humidity)),
            surface: None,
        });
        History::new(readings, Outlook::held(KelvinDelta::new(self.thermometer_error)))
    }

    fn crossing_over(&self, history: &History, bound: Bound) -> Option<Moment> {
        Course::new(history, &self.table, self.law).crossing(at(self.start), 1.0, bound)
    }

    fn progress_over(&self, history: &History, until: i64, bound: Bound) -> f64 {
        Course::new(history, &self.table, self.law).progress(at(self.start), at(until), bound)
    }
}

fn at(seconds: i64) -> Moment {
    Moment::UNIX_EPOCH + TimeDelta::seconds(seconds)
}

/// Thermometers print hundredths, so that levels and the stall temperature are often hit exactly.
fn hundredths(lowest: i32, highest: i32) -> impl Strategy<Value = f64> {
    (lowest * 100..=highest * 100).prop_map(|hundredths| f64::from(hundredths) / 100.0)
}

fn gaps() -> impl Strategy<Value = i64> {
    prop_oneof![1..60i64, 60..3600i64, 3600..200_000i64]
}

fn readings(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Plain>> {
    let celsius = prop_oneof![3 => hundredths(-10, 45), 1 => (-10..45i32).prop_map(f64::from)];
    prop::collection::vec((gaps(), celsius, 0.0..=1.0f64), count).prop_map(|steps| {
        let mut seconds = 0;
        steps
            .into_iter()
            .map(|(gap, celsius, humidity)| {
                seconds += gap;
                (seconds, celsius, humidity)
            })
            .collect()
    })
}

/// One to four points, none slower than a cooler one.
fn tables() -> impl Strategy<Value = TimeTable> {
    let steps = prop::collection::vec((1.0..12.0f64, 0.2..=1.0f64), 0..4);
    (hundredths(-5, 25), 60.0..400_000.0f64, steps, 20.0..120.0f64).prop_map(
        |(coolest, slowest, steps, energy)| {
            let (mut celsius, mut seconds) = (coolest, slowest);
            let mut points = vec![(celsius, seconds)];
            for (warmer, faster) in steps {
                celsius += warmer;
                seconds *= faster;
                points.push((celsius, seconds));
            }
            let points = points.into_iter().map(|(celsius, seconds)| Point {
                at: Celsius::new(celsius),
                time: TimeDelta::milliseconds((seconds * 1000.0).ceil() as i64),
            });
            TimeTable::new(points.collect(), ActivationEnergy::from_kilojoules_per_mole(energy)).unwrap()
        },
    )
}

fn laws() -> impl Strategy<Value = Law> {
    let cures = prop_oneof![2 => Just(Cure::Reaction), 1 => Just(Cure::Drying), 1 => Just(Cure::Moisture)];
    let stalls = prop::option::of((-5..20i32).prop_map(f64::from));
    (cures, 0.3..0.7f64, stalls, any::<bool>()).prop_map(|(cure, reference, stall, minimum)| Law {
        cure,
        reference_humidity: Humidity::from_fraction(reference),
        stall_below: stall.map(Celsius::new),
        minimum,
    })
}

fn cases() -> impl Strategy<Value = Case> {
    (readings(1..40), any::<bool>(), tables(), laws(), 0.0..3.0f64, -100_000..300_000i64).prop_map(
        |(readings, damp_known, table, law, thermometer_error, start)| Case {
            readings,
            damp_known,
            table,
            law,
            thermometer_error,
            start,
        },
    )
}

/// What two ways to the same moment may differ by: 1e-9 of the way, and ten microseconds.
fn slack(start: i64, moment: Moment) -> TimeDelta {
    let way = (moment - at(start)).num_nanoseconds().unwrap_or(i64::MAX);
    TimeDelta::nanoseconds(way / 1_000_000_000 + 10_000)
}

/// Whether a moment is not after another; never comes after all.
fn not_after(start: i64, one: Option<Moment>, other: Option<Moment>) -> bool {
    match (one, other) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(one), Some(other)) => one <= other + slack(start, other),
    }
}

/// A shop of one temperature, exactly that below which the film stalls, and a table of 30 days at it.
fn level(start: i64) -> Case {
    let month = Point { at: Celsius::new(8.0), time: TimeDelta::days(30) };
    Case {
        readings: vec![(0, 8.0, 0.5)],
        damp_known: false,
        table: TimeTable::new(vec![month], ActivationEnergy::RULE_OF_THUMB).unwrap(),
        law: Law {
            cure: Cure::Reaction,
            reference_humidity: Humidity::from_fraction(0.5),
            stall_below: Some(Celsius::new(8.0)),
            minimum: true,
        },
        thermometer_error: 0.0,
        start,
    }
}

#[test]
fn one_reading_holds_before_it_and_long_after() {
    for start in [-40 * 86_400, -3600, 0, 3600, 40 * 86_400] {
        let case = level(start);
        let due = at(start) + TimeDelta::days(30);
        let crossing = case.crossing_over(&case.history(), Bound::AsRead).unwrap();
        assert!((crossing - due).abs() <= slack(start, due), "{crossing} is not {due}");
        let progress = case.progress_over(&case.history(), start + 15 * 86_400, Bound::AsRead);
        assert!((progress - 0.5).abs() < 1e-12, "{progress} from {start} s");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn progress_never_falls_over_time(case in cases(), from in 0..500_000i64, longer in 0..500_000i64) {
        let history = case.history();
        for bound in BOUNDS {
            let sooner = case.progress_over(&history, case.start + from, bound);
            let later = case.progress_over(&history, case.start + from + longer, bound);
            prop_assert!(sooner >= 0.0 && sooner.is_finite());
            prop_assert!(later >= sooner * (1.0 - 1e-9), "{bound:?}: {sooner}, then {later}");
        }
    }

    #[test]
    fn progress_adds_up_over_any_cut(case in cases(), first in 1..300_000i64, second in 1..300_000i64) {
        let history = case.history();
        let course = Course::new(&history, &case.table, case.law);
        let (middle, end) = (case.start + first, case.start + first + second);
        let last = case.readings.last().map_or(0, |reading| reading.0);
        for bound in BOUNDS {
            // Behind the last reading the errors of a film's hours partly cancel: a film cut in two is another film.
            if bound != Bound::AsRead && middle > last {
                continue;
            }
            let whole = course.progress(at(case.start), at(end), bound);
            let parts = course.progress(at(case.start), at(middle), bound) + course.progress(at(middle), at(end), bound);
            prop_assert!((whole - parts).abs() <= 1e-9 * whole, "{bound:?}: {whole} is not {parts}");
        }
    }

    #[test]
    fn at_the_crossing_the_progress_is_one(case in cases()) {
        let history = case.history();
        let course = Course::new(&history, &case.table, case.law);
        for bound in BOUNDS {
            if let Some(crossing) = course.crossing(at(case.start), 1.0, bound) {
                // A nanosecond of rounding counts where the film races.
                let around = |nanos| course.progress(at(case.start), crossing + TimeDelta::nanoseconds(nanos), bound);
                prop_assert!(around(-100) <= 1.0 + 1e-9, "{bound:?}: {}", around(-100));
                prop_assert!(around(100) >= 1.0 - 1e-9, "{bound:?}: {}", around(100));
            }
        }
    }

    #[test]
    fn a_warmer_shop_is_never_later(case in cases(), warmer in prop::collection::vec(hundredths(0, 10), 40)) {
        let raised: Vec<Plain> =
            case.readings.iter().zip(&warmer).map(|(&(seconds, celsius, damp), up)| (seconds, celsius + up, damp)).collect();
        let (cool, warm) = (case.history(), case.history_of(&raised));
        for bound in BOUNDS {
            let (cool, warm) = (case.crossing_over(&cool, bound), case.crossing_over(&warm, bound));
            prop_assert!(not_after(case.start, warm, cool), "{bound:?}: {warm:?} when warm, {cool:?} when cool");
        }
    }

    #[test]
    fn earliest_is_not_after_at_and_at_not_after_latest(case in cases()) {
        let history = case.history();
        let [latest, middle, earliest] = BOUNDS.map(|bound| case.crossing_over(&history, bound));
        prop_assert!(not_after(case.start, earliest, middle), "{earliest:?} {middle:?}");
        prop_assert!(not_after(case.start, middle, latest), "{middle:?} {latest:?}");
    }

    #[test]
    fn a_worse_thermometer_never_narrows_the_window(case in cases(), worse in 0.0..3.0f64) {
        let history = case.history();
        let doubtful = Case { thermometer_error: case.thermometer_error + worse, ..case.clone() };
        let wider = doubtful.history();
        let (latest, wide_latest) = (case.crossing_over(&history, Bound::Coolest), case.crossing_over(&wider, Bound::Coolest));
        prop_assert!(not_after(case.start, latest, wide_latest));
        let (earliest, wide_earliest) = (case.crossing_over(&history, Bound::Warmest), case.crossing_over(&wider, Bound::Warmest));
        prop_assert!(not_after(case.start, wide_earliest, earliest));
        prop_assert_eq!(case.crossing_over(&history, Bound::AsRead), case.crossing_over(&wider, Bound::AsRead));
    }

    #[test]
    fn a_coat_that_starts_later_is_never_done_sooner(case in cases(), later in 0..200_000i64) {
        let history = case.history();
        let put_off = Case { start: case.start + later, ..case.clone() };
        // The earliest may be sooner by some seconds: the error has grown until the later start.
        for bound in [Bound::Coolest, Bound::AsRead] {
            let (first, second) = (case.crossing_over(&history, bound), put_off.crossing_over(&history, bound));
            prop_assert!(not_after(case.start, first, second), "{bound:?}: {first:?}, {second:?}");
        }
    }

    #[test]
    fn a_worse_hygrometer_never_narrows_the_window(case in cases(), worse in 0.04..0.25f64) {
        let history = case.history();
        let outlook = history.outlook().clone().with_hygrometer_error(Humidity::from_fraction(worse));
        let wider = history.with_outlook(outlook);
        for (bound, other) in [(Bound::Coolest, &wider), (Bound::Warmest, &history)] {
            let narrow = if bound == Bound::Coolest { &history } else { &wider };
            let (sooner, later) = (case.crossing_over(narrow, bound), case.crossing_over(other, bound));
            prop_assert!(not_after(case.start, sooner, later), "{bound:?}: {sooner:?} {later:?}");
        }
        prop_assert_eq!(case.crossing_over(&history, Bound::AsRead), case.crossing_over(&wider, Bound::AsRead));
    }

    #[test]
    fn a_minimum_time_is_never_sooner_than_a_maximum_time_of_the_same_table(case in cases()) {
        let history = case.history();
        let of = |minimum: bool| Case { law: Law { minimum, ..case.law }, ..case.clone() };
        for bound in BOUNDS {
            let (least, most) = (of(true).crossing_over(&history, bound), of(false).crossing_over(&history, bound));
            prop_assert!(not_after(case.start, most, least), "{bound:?}: {most:?} {least:?}");
        }
    }

    #[test]
    fn a_reading_on_the_line_between_two_others_changes_nothing_but_the_errors_in_a_gap(
        case in cases(),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), 0.0..1.0f64), 1..5),
    ) {
        let mut split = case.readings.clone();
        for (index, share) in cuts {
            if split.len() < 2 {
                break;
            }
            let after = 1 + index.index(split.len() - 1);
            let (before, next) = (split[after - 1], split[after]);
            let seconds = before.0 + ((next.0 - before.0) as f64 * share) as i64;
            if seconds == before.0 {
                continue;
            }
            let share = (seconds - before.0) as f64 / (next.0 - before.0) as f64;
            let between = |a: f64, b: f64| a + (b - a) * share;
            split.insert(after, (seconds, between(before.1, next.1), between(before.2, next.2)));
        }
        let (coarse, fine) = (case.history(), case.history_of(&split));
        let end = case.readings.last().map_or(0, |r| r.0) + 100_000;
        for bound in BOUNDS {
            let (a, b) = (case.progress_over(&coarse, end, bound), case.progress_over(&fine, end, bound));
            let (c, d) = (case.crossing_over(&coarse, bound), case.crossing_over(&fine, bound));
            // The errors of a gap shrink where a reading divides it.
            let (least, most) = match bound {
                Bound::AsRead => (true, true),
                Bound::Coolest => (true, false),
                Bound::Warmest => (false, true),
            };
            prop_assert!(!least || a <= b * (1.0 + 1e-9), "{bound:?}: {a} is more than {b}");
            prop_assert!(!most || b <= a * (1.0 + 1e-9), "{bound:?}: {a} is less than {b}");
            prop_assert!(!least || not_after(case.start, d, c), "{bound:?}: {c:?} is before {d:?}");
            prop_assert!(!most || not_after(case.start, c, d), "{bound:?}: {c:?} is after {d:?}");
        }
    }

    #[test]
    fn a_reading_after_the_crossing_never_changes_the_crossing(case in cases(), later in readings(0..20)) {
        let history = case.history();
        for bound in BOUNDS {
            let Some(crossing) = case.crossing_over(&history, bound) else { continue };
            // Only what was read counts: after the last reading a new one does change the moment.
            let Some(next) = case.readings.iter().position(|r| at(r.0) >= crossing) else { continue };
            let known = &case.readings[..=next];
            let others: Vec<Plain> = known
                .iter()
                .copied()
                .chain(later.iter().map(|&(seconds, celsius, damp)| (known[next].0 + seconds, celsius, damp)))
                .collect();
            prop_assert_eq!(case.crossing_over(&case.history_of(known), bound), Some(crossing));
            prop_assert_eq!(case.crossing_over(&case.history_of(&others), bound), Some(crossing));
        }
    }
}
