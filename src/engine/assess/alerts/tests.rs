use super::*;
use crate::engine::air::OutdoorHour;
use crate::engine::config::Config;
use crate::engine::job::{AlertId, StepKind};
use crate::engine::profile::Library;
use crate::engine::units::{Celsius, Humidity};
use crate::testing::{Bench, at, library, words};

/// What the rules say at a minute, with everything raised before at its minute.
struct Day {
    library: Library,
    bench: Bench,
    alerts: Vec<Alert>,
    windows: Vec<ReportedWindow>,
}

impl Day {
    fn new(bench: Bench) -> Self {
        Self { library: library(), bench, alerts: Vec::new(), windows: Vec::new() }
    }

    fn due(&self, minutes: i64) -> Due {
        self.look(minutes, |_, due| due)
    }

    fn look<T>(&self, minutes: i64, see: impl FnOnce(&Survey<'_>, Due) -> T) -> T {
        let config = Config::default();
        let survey = self.bench.survey(&self.library, minutes);
        let memory = Memory { alerts: &self.alerts, windows: &self.windows };
        let due = due(&survey, memory, &config.leads, config.reading_old, at(minutes));
        see(&survey, due)
    }

    /// Raises what is due, as a process that watches would.
    fn pass(&mut self, minutes: i64) -> Vec<AlertKind> {
        let due = self.look(minutes, |survey, due| words().raising(survey, due, at(minutes)));
        for new in &due.raise {
            let id = AlertId(self.alerts.len() as i64 + 1);
            self.alerts.push(Alert {
                id,
                kind: new.kind,
                subject: new.subject.clone(),
                round: new.round,
                area: new.area.clone(),
                due: new.due,
                raised: at(minutes),
                repeat: 0,
                wanted: at(minutes),
                acknowledged: None,
                text: new.text.clone(),
            });
        }
        for id in &due.again {
            let alert = self.alerts.iter_mut().find(|alert| alert.id == *id).unwrap();
            (alert.repeat, alert.wanted) = (alert.repeat + 1, at(minutes));
        }
        for window in due.windows {
            self.windows.retain(|other| other.coat != window.coat);
            self.windows.push(window);
        }
        due.raise.iter().map(|alert| alert.kind).collect()
    }

    fn minutes_of(&self, kind: AlertKind) -> Vec<i64> {
        let of_kind = self.alerts.iter().filter(|alert| alert.kind == kind);
        of_kind.map(|alert| (alert.raised - at(0)).num_minutes()).collect()
    }
}

fn varnish_day() -> Day {
    Day::new(Bench::steady(20.0, 20_000).coat("door", "varnish-quick", 0, 20))
}

#[test]
fn a_day_of_varnish_rings_once_for_each_thing_and_in_order() {
    let mut day = varnish_day();
    let mut order = Vec::new();
    for minutes in (0..600).chain((600..15_000).step_by(60)) {
        order.extend(day.pass(minutes));
    }
    assert_eq!(
        order,
        [
            AlertKind::RecoatOpen,
            AlertKind::LastCall,
            AlertKind::RecoatClose,
            AlertKind::Sandable,
            AlertKind::FullCure
        ]
    );
    // Open after 2 h from the last stroke, at 19 °C a little later; shut 10 h after the first, at 21 °C
    // a little earlier: both on the safe side.
    let open = day.minutes_of(AlertKind::RecoatOpen)[0];
    assert!((140..155).contains(&open), "{open}");
    let close = day.minutes_of(AlertKind::RecoatClose)[0];
    assert!((505..530).contains(&close), "30 min before the window may close: {close}");
    let call = day.minutes_of(AlertKind::LastCall)[0];
    assert!(call < close, "the last call leaves the time to coat: {call}");
}

#[test]
fn the_next_alert_is_awaited_at_its_very_moment() {
    let day = Day::new(Bench::default().reading(0, 20.0).coat("door", "varnish-quick", 0, 20));
    let next = day.due(20).next.unwrap();
    let before = day.due((next - at(0)).num_minutes()).rings;
    let after = day.due((next - at(0)).num_minutes() + 1).rings;
    assert!(before.is_empty());
    assert_eq!(after.len(), 1);
}

#[test]
fn a_closing_window_is_sent_again_until_it_is_acknowledged_or_shut() {
    let mut day = varnish_day();
    for minutes in 0..=560 {
        day.pass(minutes);
    }
    let close = day.alerts.iter().position(|alert| alert.kind == AlertKind::RecoatClose).unwrap();
    let first = day.alerts[close].raised;
    for minutes in 561..=575 {
        day.pass(minutes);
    }
    assert!(day.alerts[close].wanted > first, "sent again after ten minutes");
    let last = day.alerts[close].wanted;
    day.alerts.iter_mut().for_each(|alert| alert.acknowledged = Some(at(575)));
    for minutes in 576..700 {
        day.pass(minutes);
    }
    assert_eq!(day.alerts[close].wanted, last);
}

#[test]
fn what_a_clock_that_was_ahead_raised_is_raised_again_in_time() {
    let mut day = varnish_day();
    day.pass(30);
    assert_eq!(day.pass(800), [AlertKind::RecoatClose]);
    let mut again = Vec::new();
    for minutes in 31..=560 {
        again.extend(day.pass(minutes));
    }
    assert_eq!(again, [AlertKind::RecoatOpen, AlertKind::LastCall, AlertKind::RecoatClose]);
    let rounds: Vec<u32> = day.alerts.iter().map(|alert| alert.round).collect();
    assert_eq!(rounds, [0, 0, 0, 1]);
}

#[test]
fn a_clock_that_is_put_right_by_seconds_raises_nothing_twice() {
    let mut day = varnish_day();
    day.pass(30);
    assert_eq!(day.pass(500), [AlertKind::RecoatOpen, AlertKind::LastCall]);
    assert_eq!(day.pass(499), [], "a minute back is within the slack");
}

#[test]
fn a_repetition_by_a_clock_that_was_ahead_is_repeated_in_time() {
    let mut day = varnish_day();
    for minutes in 0..=530 {
        day.pass(minutes);
    }
    let close = day.alerts.iter().position(|alert| alert.kind == AlertKind::RecoatClose).unwrap();
    day.alerts[close].wanted = at(2000);
    assert_eq!(day.due(531).again, [day.alerts[close].id]);
}

#[test]
fn what_fell_due_in_a_suspend_is_raised_at_once_and_says_how_long_ago() {
    let mut day = varnish_day();
    day.pass(30);
    let kinds = day.pass(700);
    assert_eq!(kinds, [AlertKind::RecoatClose], "nobody is told that a window opened that has closed since");
    let text = day.alerts[0].text_at(at(700));
    assert!(text.ends_with(" ago.") && text.contains("The window closed"), "{text}");
}

#[test]
fn a_window_that_moves_by_more_than_twenty_minutes_raises_one_alert() {
    let bench = Bench::default().reading(0, 20.0).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    day.pass(30);
    assert!(day.alerts.is_empty());
    day.bench = std::mem::take(&mut day.bench).reading(40, 20.3);
    assert_eq!(day.pass(41), [], "a little warmer moves little");
    day.bench = std::mem::take(&mut day.bench).reading(50, 12.0);
    assert_eq!(day.pass(51), [AlertKind::Moved]);
    assert!(day.alerts[0].text.contains("later"), "{}", day.alerts[0].text);
    assert_eq!(day.pass(52), []);
}

#[test]
fn a_minimum_time_announced_too_early_is_announced_again_when_it_is_reached() {
    let bench = Bench::default().reading(0, 20.0).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    day.pass(20);
    let mut minutes = 20;
    while day.minutes_of(AlertKind::RecoatOpen).is_empty() {
        minutes += 1;
        day.pass(minutes);
    }
    // The shop had been colder all the while, as a thermometer read only now tells.
    day.bench =
        std::mem::take(&mut day.bench).reading(1, 11.0).reading(minutes, 11.0).reading(minutes + 300, 11.0);
    for later in minutes + 1..minutes + 600 {
        day.pass(later);
    }
    assert_eq!(day.minutes_of(AlertKind::RecoatOpen).len(), 2);
}

/// Suitable air until 100, damp air from 110 to 290, suitable air from 300 on; the film is open from about 145.
fn damp_afternoon() -> Bench {
    let mut bench = Bench::default().coat("door", "varnish-quick", 0, 20);
    for minutes in (-600..=800).step_by(10) {
        let humidity = if (110..300).contains(&minutes) { 0.9 } else { 0.5 };
        bench = bench.damp_reading(minutes, 20.0, humidity);
    }
    bench
}

#[test]
fn a_film_that_is_ready_in_damp_air_rings_when_the_judgement_says_go() {
    let mut day = Day::new(damp_afternoon());
    for minutes in 20..400 {
        day.pass(minutes);
        for alert in day.alerts.iter().filter(|alert| alert.kind == AlertKind::RecoatOpen) {
            assert!(alert.text.starts_with("door: GO until"), "{}", alert.text);
        }
    }
    assert_eq!(day.minutes_of(AlertKind::RecoatOpen), [300]);
}

#[test]
fn air_that_turns_suitable_again_rings_again() {
    let open = Bench::steady(20.0, 800).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(open);
    for minutes in 20..160 {
        day.pass(minutes);
    }
    let first = day.minutes_of(AlertKind::RecoatOpen);
    assert_eq!(first.len(), 1, "{first:?}");
    day.bench = damp_afternoon();
    for minutes in 160..400 {
        day.pass(minutes);
    }
    assert_eq!(day.minutes_of(AlertKind::RecoatOpen), [first[0], 300]);
}

#[test]
fn an_alert_that_later_readings_contradict_is_withdrawn() {
    let bench = Bench::default().reading(0, 20.0).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    for minutes in 20..200 {
        day.pass(minutes);
    }
    let opened = day.alerts.iter().find(|alert| alert.kind == AlertKind::RecoatOpen).unwrap().clone();
    day.look(200, |survey, _| assert_eq!(alert_state(survey, &opened, at(200)), AlertState::Holds));
    day.bench = std::mem::take(&mut day.bench).reading(1, 9.0).reading(200, 9.0);
    day.look(201, |survey, _| {
        assert_eq!(alert_state(survey, &opened, at(201)), AlertState::Withdrawn);
        let text = words().alert_now(survey, &opened, at(201));
        assert!(text.starts_with("door: WAIT until") && text.contains("Withdrawn"), "{text}");
    });
}

#[test]
fn the_next_coat_ends_the_alerts_of_the_one_under_it() {
    // The sealer takes three coats wet on wet.
    let bench = Bench::steady(20.0, 3000).coat("door", "epoxy-sealer", 0, 20);
    let mut day = Day::new(bench.coat("door", "epoxy-sealer", 300, 320));
    for minutes in 330..620 {
        assert!(day.pass(minutes).iter().all(|kind| *kind == AlertKind::RecoatOpen));
    }
    assert_eq!(day.alerts.len(), 1);
}

#[test]
fn no_alert_calls_for_one_coat_too_many_wet_on_wet() {
    // The varnish takes two.
    let bench = Bench::steady(20.0, 3000).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench.coat("door", "varnish-quick", 200, 220));
    for minutes in 230..900 {
        assert_eq!(day.pass(minutes), []);
    }
}

#[test]
fn tape_is_called_for_while_it_is_on() {
    let bench =
        Bench::steady(20.0, 3000).step("door", StepKind::TapeOn, -10).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    for minutes in 0..200 {
        day.pass(minutes);
    }
    let tape = day.minutes_of(AlertKind::TapeBy);
    assert!(tape.len() == 1 && (130..150).contains(&tape[0]), "{tape:?}");
    let pulled = Bench::steady(20.0, 3000)
        .step("door", StepKind::TapeOn, -10)
        .coat("door", "varnish-quick", 0, 20)
        .step("door", StepKind::TapeOff, 60);
    let mut day = Day::new(pulled);
    for minutes in 60..200 {
        day.pass(minutes);
    }
    assert!(day.minutes_of(AlertKind::TapeBy).is_empty());
}

#[test]
fn a_stalled_cure_raises_an_alert_and_another_only_half_a_day_later() {
    let bench = Bench::steady(2.0, 3000).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    for minutes in (20..1200).step_by(20) {
        day.pass(minutes);
    }
    assert_eq!(day.minutes_of(AlertKind::Stall), [20, 740]);
}

#[test]
fn an_old_reading_raises_one_alert_while_a_film_depends_on_it() {
    let bench = Bench::default().reading(0, 20.0).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    for minutes in 0..600 {
        day.pass(minutes);
    }
    assert_eq!(day.minutes_of(AlertKind::ReadingOld), [361]);
    assert!(Day::new(Bench::default().reading(0, 20.0)).due(600).rings.is_empty());
}

#[test]
fn a_scheme_that_sands_next_minds_no_window() {
    let scheme = r#"
        name = "Hut"
        [[area]]
        name = "door"
        steps = [{ coat = "varnish-quick" }, { sand = "320" }, { coat = "varnish-quick" }]
    "#;
    let bench = Bench::steady(20.0, 3000).scheme(scheme).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(bench);
    let mut kinds = Vec::new();
    for minutes in (20..2000).step_by(5) {
        kinds.extend(day.pass(minutes));
    }
    assert_eq!(kinds, [AlertKind::Sandable]);
}

#[test]
fn dew_on_a_wet_film_raises_one_alert() {
    let damp = Bench::default().damp_reading(0, 14.0, 0.95).coat("door", "varnish-quick", 0, 20);
    let mut day = Day::new(damp);
    for minutes in (20..300).step_by(10) {
        day.pass(minutes);
    }
    assert_eq!(day.minutes_of(AlertKind::Dew), [20]);
    assert!(day.alerts[0].text.contains("dew point"), "{}", day.alerts[0].text);
}

/// A clear night out of doors: as dry as it is now for a number of hours, then it drips.
fn dripping_from(hours: i64) -> Bench {
    let mut bench = Bench::default().scheme(OUTSIDE).coat("door", "varnish-quick", 0, 20);
    for hour in -30..30 {
        let humidity = if hour < hours { 0.6 } else { 0.99 };
        bench = bench.outdoor_hour(OutdoorHour {
            at: at(hour * 60),
            air: Celsius::new(14.0),
            humidity: Some(Humidity::from_fraction(humidity)),
            rain: None,
            wind: None,
        });
    }
    bench.damp_reading(0, 14.0, 0.6)
}

const OUTSIDE: &str = r#"
    name = "Hut"
    [[area]]
    name = "door"
    place = "outside"
    steps = [{ coat = "varnish-quick" }, { coat = "varnish-quick" }]
"#;

#[test]
fn forecast_dew_raises_an_alert_ahead_and_another_when_it_is_there() {
    let mut day = Day::new(dripping_from(4));
    for minutes in (20..300).step_by(10) {
        day.pass(minutes);
    }
    let raised = day.minutes_of(AlertKind::Dew);
    assert_eq!(raised.len(), 2, "{raised:?}");
    assert_eq!(raised[0], 20);
    assert!((180..240).contains(&raised[1]), "{raised:?}");
    assert!(day.alerts[0].text.contains(" from 1"), "{}", day.alerts[0].text);
}

#[test]
fn dew_that_comes_much_sooner_than_announced_is_announced_again() {
    let mut day = Day::new(dripping_from(5));
    day.pass(20);
    day.bench = dripping_from(3);
    day.pass(30);
    day.pass(40);
    assert_eq!(day.minutes_of(AlertKind::Dew), [20, 30]);
}

#[test]
fn what_helps_goes_with_the_threat() {
    let text = |bench: Bench| {
        let mut day = Day::new(bench);
        day.pass(30);
        day.alerts.iter().map(|alert| alert.text.clone()).collect::<Vec<_>>().join(" ")
    };
    let hot = text(Bench::steady(33.0, 30).coat("door", "varnish-quick", 0, 20));
    assert!(hot.contains("too warm") && hot.contains("Shade it") && !hot.contains("Warm the"), "{hot}");
    let cold = text(Bench::steady(6.0, 30).coat("door", "varnish-quick", 0, 20));
    assert!(cold.contains("too cold") && cold.contains("Warm the place"), "{cold}");
}

#[test]
fn a_film_that_is_tack_free_minds_no_dew() {
    let bench = Bench::steady(20.0, 700).coat("door", "varnish-quick", 0, 20).damp_reading(700, 20.0, 0.97);
    let mut day = Day::new(bench);
    day.pass(701);
    assert!(day.minutes_of(AlertKind::Dew).is_empty());
}

#[test]
fn what_is_long_past_is_history() {
    let mut day = varnish_day();
    assert_eq!(day.pass(60 * 24 * 30), []);
}

#[test]
fn a_batch_rings_when_its_induction_is_over_ahead_of_its_end_and_at_it() {
    let mut day = Day::new(Bench::steady(20.0, 2000).batch("primer-two-part", 1000.0, 0));
    let mut kinds = Vec::new();
    for minutes in 0..320 {
        kinds.extend(day.pass(minutes));
        if minutes == 300 {
            day.alerts.iter_mut().for_each(|alert| alert.acknowledged = Some(at(300)));
        }
    }
    assert_eq!(kinds, [AlertKind::Induction, AlertKind::PotLife, AlertKind::PotOver]);
    assert_eq!(day.minutes_of(AlertKind::Induction), [20]);
    let (ahead, over) = (day.minutes_of(AlertKind::PotLife)[0], day.minutes_of(AlertKind::PotOver)[0]);
    // 4 h at 21 °C: at 20 °C a little more, at the warm edge of the thermometer 4 h again.
    assert!((236..=242).contains(&over), "{over}");
    assert!((14..=15).contains(&(over - ahead)), "a quarter of an hour ahead: {ahead}");
    assert!(day.alerts[0].text.contains("Batch 1, 1.00 kg of primer-two-part"), "{}", day.alerts[0].text);
}

#[test]
fn a_short_pot_life_raises_an_alert_a_quarter_of_it_ahead() {
    let mut day = Day::new(Bench::steady(30.0, 2000).batch("epoxy-laminating-fast", 100.0, 0));
    for minutes in 0..20 {
        day.pass(minutes);
    }
    let (ahead, over) = (day.minutes_of(AlertKind::PotLife), day.minutes_of(AlertKind::PotOver));
    assert_eq!(ahead.len(), 1);
    assert!((8..=9).contains(&ahead[0]) && (11..=12).contains(&over[0]), "{ahead:?} {over:?}");
    let text = &day.alerts.iter().find(|alert| alert.kind == AlertKind::PotOver).unwrap().text;
    assert!(text.contains("overheats"), "{text}");
}

#[test]
fn a_batch_that_is_used_up_rings_no_more() {
    let emptied = crate::engine::job::EntryKind::Emptied { batch: crate::engine::job::EntryId(1) };
    let mut day = Day::new(Bench::steady(20.0, 2000).batch("epoxy-sealer", 300.0, 0).entry(100, emptied));
    for minutes in 0..400 {
        day.pass(minutes);
    }
    assert!(day.alerts.is_empty(), "{:?}", day.alerts);
}

#[test]
fn a_pot_whose_life_is_over_is_repeated_for_an_hour() {
    let mut day = Day::new(Bench::steady(20.0, 2000).batch("epoxy-sealer", 300.0, 0));
    for minutes in 0..400 {
        day.pass(minutes);
    }
    let over = day.alerts.iter().find(|alert| alert.kind == AlertKind::PotOver).unwrap();
    let last = (over.wanted - over.raised).num_minutes();
    assert!((50..60).contains(&last), "{last}");
}
