//! Jobs under a sky: made from the hand-made nights, and by chance.

use std::convert::Infallible;
use std::fmt;

use chrono::TimeDelta;
use curewright::engine::air::OutdoorHour;
use curewright::engine::assess::Readings;
use curewright::engine::cure::Reading;
use curewright::engine::job::{Entry, EntryId, EntryKind, StepKind};
use curewright::engine::units::{Celsius, Humidity, Millimetres, Moment};
use proptest::prelude::*;

use super::night::{self, Night};
use super::situation::{Did, Situation};

/// A job, what was read in it, and the weather over it.
#[derive(Clone, Default)]
pub struct World {
    pub entries: Vec<Entry>,
    readings: Vec<Reading>,
    outdoor: Vec<OutdoorHour>,
    begins: Moment,
    area: String,
    product: String,
    takes: TimeDelta,
}

impl fmt::Debug for World {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for entry in &self.entries {
            writeln!(f, "{} {:?}", entry.at, entry.kind)?;
        }
        let last = |reading: &&Reading| reading.at >= self.begins - TimeDelta::hours(3);
        for reading in self.readings.iter().filter(last).step_by(6) {
            writeln!(f, "{} {:?} {:?}", reading.at, reading.air, reading.humidity)?;
        }
        for hour in self.outdoor.iter().filter(|hour| hour.at >= self.begins).take(36) {
            writeln!(f, "out {} {:?} {:?} {:?}", hour.at, hour.air, hour.humidity, hour.rain)?;
        }
        Ok(())
    }
}

impl World {
    pub fn begins(&self) -> Moment {
        self.begins
    }

    fn entry(&mut self, at: Moment, kind: EntryKind) {
        let id = EntryId(self.entries.len() as i64 + 1);
        self.entries.push(Entry { id, at, recorded: at, kind });
    }

    fn scheme(&mut self, place: &str, lag_minutes: i64) {
        let minutes = self.takes.num_minutes().max(1);
        let (area, product) = (&self.area, &self.product);
        let text = format!(
            "name = \"Hut\"\n[[area]]\nname = \"{area}\"\nplace = \"{place}\"\nsquare_metres = 1\n\
             minutes_per_square_metre = {minutes}\nsurface_lag = \"{lag_minutes} min\"\n\
             steps = [{{ coat = \"{product}\" }}, {{ coat = \"{product}\" }}, {{ coat = \"{product}\" }}]\n"
        );
        self.entry(self.begins - TimeDelta::days(90), EntryKind::Scheme { text });
    }

    fn coat(&mut self, at: Moment) {
        let (area, product) = (self.area.clone(), self.product.clone());
        let kind = EntryKind::Coat { area, product, next: None, finished: false, batch: None, why: None };
        self.entry(at, kind);
    }

    fn finished(&mut self, at: Moment) {
        self.entry(at, EntryKind::Finished { area: self.area.clone() });
    }

    /// The same with a coat that is begun and finished at a moment, as fast as can be.
    pub fn coated(&self, at: Moment) -> Self {
        let mut world = self.clone();
        world.coat(at);
        world.finished(at);
        world
    }

    /// A night as the air of a place out of doors. What is not bare got a coat long ago, and was sanded.
    pub fn of_night(night: &Night) -> Self {
        let begins = night::now();
        let mut world = Self {
            begins,
            area: "roof".into(),
            product: night.product.clone(),
            takes: TimeDelta::minutes(night.takes),
            ..Self::default()
        };
        world.scheme("outside", 60);
        if !night.bare {
            let long_ago = begins - TimeDelta::days(80);
            world.coat(long_ago);
            world.finished(long_ago + world.takes);
            for step in [StepKind::Wash, StepKind::Sand] {
                let done = EntryKind::step(&world.area, step, None);
                world.entry(begins - TimeDelta::hours(2), done);
            }
        }
        let line = night.line();
        world.readings = line.iter().filter(|reading| reading.at <= begins).copied().collect();
        let rains = |at: Moment| night.outdoors && night.rain.contains(&(at - begins).num_hours());
        let hours = (line[line.len() - 1].at - begins).num_minutes() / 30;
        world.outdoor = (0..=hours)
            .map(|half| {
                let at = begins + TimeDelta::minutes(half * 30);
                let (air, humidity) = between(&line, at);
                // What falls is told for the hour that begins.
                let rain = rains(at).then(|| Millimetres::new(0.8));
                OutdoorHour { at, air, humidity, rain: rain.or(Some(Millimetres::new(0.0))), wind: None }
            })
            .collect();
        world
    }

    /// A situation; its area is the one area of the scheme.
    pub fn of_situation(situation: &Situation) -> Self {
        let begins = night::now();
        let mut world = Self { begins, area: "roof".into(), ..Self::default() };
        let step = |step: &String| match step.as_str() {
            "sand" => "{ sand = \"240\" }".to_owned(),
            "wash" => "{ wash = true }".to_owned(),
            "tape on" => "{ tape = \"on\" }".to_owned(),
            "tape off" => "{ tape = \"off\" }".to_owned(),
            coat => format!("{{ coat = \"{coat}\" }}"),
        };
        let steps: Vec<String> = situation.steps.iter().map(step).collect();
        let ground = situation.ground.as_ref().map(|ground| format!("ground = \"{ground}\"\n"));
        let text = format!(
            "name = \"Hut\"\n[[area]]\nname = \"roof\"\nplace = \"{}\"\nsquare_metres = 1\n\
             minutes_per_square_metre = {}\n{}steps = [{}]\n",
            situation.place,
            situation.takes,
            ground.unwrap_or_default(),
            steps.join(", ")
        );
        world.entry(begins - TimeDelta::days(90), EntryKind::Scheme { text });
        let mut coats = 0;
        for (at, did) in situation.deeds() {
            let at = begins + at;
            match did {
                Did::Coat(product) => {
                    (world.product, coats) = (product, coats + 1);
                    world.coat(at);
                }
                Did::LastStroke => world.finished(at),
                Did::Step(step) => {
                    let area = world.area.clone();
                    world.entry(at, EntryKind::step(area, step, None));
                }
            }
        }
        let is_coat = |step: &&String| !["sand", "wash", "tape on", "tape off"].contains(&step.as_str());
        if let Some(next) = situation.steps.iter().filter(is_coat).nth(coats) {
            world.product.clone_from(next);
        }
        let reading = |(at, air): (TimeDelta, super::situation::Air)| Reading {
            at: begins + at,
            air: air.air,
            humidity: air.humidity,
            surface: air.surface,
        };
        world.readings = situation.readings().into_iter().map(reading).collect();
        let line: Vec<Reading> = situation.outdoor().into_iter().map(reading).collect();
        let rains = situation.rains();
        if let Some(last) = line.last() {
            let from = rains.iter().copied().chain([0]).min().unwrap_or_default();
            world.outdoor = (from * 2..=(last.at - begins).num_minutes() / 30)
                .map(|half| {
                    let at = begins + TimeDelta::minutes(half * 30);
                    let (air, humidity) = between(&line, at);
                    let falls = rains.contains(&half.div_euclid(2));
                    let rain = Millimetres::new(if falls { 0.8 } else { 0.0 });
                    let rain = Some(rain).filter(|_| !situation.no_rain_column);
                    OutdoorHour { at, air, humidity, rain, wind: None }
                })
                .collect();
        }
        world
    }
}

/// Straight between the points of a line.
fn between(line: &[Reading], at: Moment) -> (Celsius, Option<Humidity>) {
    let after = line.partition_point(|reading| reading.at <= at).clamp(1, (line.len() - 1).max(1));
    let (a, b) = (line[after - 1], line[after.min(line.len() - 1)]);
    let share = (at - a.at).as_seconds_f64() / (b.at - a.at).as_seconds_f64();
    let mix = |a: f64, b: f64| a + (b - a) * share.clamp(0.0, 1.0);
    let humidity = a.humidity.zip(b.humidity);
    let humidity = humidity.map(|(a, b)| Humidity::from_fraction(mix(a.fraction(), b.fraction())));
    (Celsius::new(mix(a.air.degrees(), b.air.degrees())), humidity)
}

impl Readings for World {
    type Error = Infallible;

    fn readings(&self, _place: &str, from: Moment, to: Moment) -> Result<Vec<Reading>, Infallible> {
        let before = self.readings.iter().rposition(|reading| reading.at < from).unwrap_or(0);
        let all = self.readings.get(before..).unwrap_or_default();
        Ok(all.iter().filter(|reading| reading.at <= to).copied().collect())
    }

    fn forecast_at(&self) -> Result<Option<Moment>, Infallible> {
        Ok((!self.outdoor.is_empty()).then_some(self.begins))
    }

    fn outdoor(&self, from: Moment, to: Moment) -> Result<Vec<OutdoorHour>, Infallible> {
        let inside = |hour: &&OutdoorHour| (from..=to).contains(&hour.at);
        Ok(self.outdoor.iter().filter(inside).copied().collect())
    }
}

const PRODUCTS: [&str; 7] = [
    "epoxy-sealer",
    "primer-two-part",
    "varnish-two-part",
    "varnish-alkyd",
    "paint-water",
    "oil-penetrating",
    "deck-coating-polyurethane-moisture",
];

/// Skies by chance: a swing of day and night with weather in it, a shop that follows it or the outdoors
/// itself, readings that are frequent, seldom or long past, with or without humidity, and a coat that is not
/// there, wet or old.
pub fn skies() -> impl Strategy<Value = World> {
    let weather =
        (-2.0f64..24.0, 0.0f64..9.0, 30.0f64..99.0, prop::collection::vec(-3.0f64..3.0, 40), 0..4u8);
    let shop = (any::<bool>(), 1.0f64..9.0, 0.0f64..6.0, prop::sample::select(&[10i64, 40, 120][..]));
    let read = (0i64..700, prop::sample::select(&["yes", "no", "once"][..]), any::<bool>());
    let job = (
        prop::sample::select(&PRODUCTS[..]),
        prop::sample::select(&[5i64, 30, 90][..]),
        prop::sample::select(&[0i64, 20, 60, 240][..]),
        prop::option::of(-4000i64..1900),
        any::<bool>(),
        any::<bool>(),
    );
    (weather, shop, read, job).prop_map(|(weather, shop, read, job)| generate(&weather, shop, read, job))
}

type Weather = (f64, f64, f64, Vec<f64>, u8);
type Shop = (bool, f64, f64, i64);
type Read = (i64, &'static str, bool);
type Job = (&'static str, i64, i64, Option<i64>, bool, bool);

fn generate(weather: &Weather, shop: Shop, read: Read, job: Job) -> World {
    let (mean, swing, damp, noise, rains) = weather;
    let (outdoors, tau, gain, every) = shop;
    let (silent, humidity, forecast) = read;
    let (product, takes, lag, coat, sanded, unfinished) = job;
    let begins: Moment = "2026-05-02T18:00:00Z".parse().unwrap();
    let mut world = World {
        begins,
        area: "roof".into(),
        product: product.into(),
        takes: TimeDelta::minutes(takes),
        ..World::default()
    };
    world.scheme(if outdoors { "outside" } else { "shop" }, lag);
    let outside = |minutes: i64| {
        let hours = minutes as f64 / 60.0;
        let at = (hours / 6.0).rem_euclid(noise.len() as f64);
        let (low, share) = (at.floor() as usize % noise.len(), at.fract());
        let drift = noise[low] * (1.0 - share) + noise[(low + 1) % noise.len()] * share;
        let celsius = mean + swing * ((hours + 4.0) / 24.0 * std::f64::consts::TAU).cos() + drift;
        let humidity = (damp - 3.0 * (celsius - mean)).clamp(15.0, 100.0);
        (celsius, humidity)
    };
    let mut inside = outside(-6 * 1440).0 + gain;
    let mut minutes = -6 * 1440;
    let until = 2000 - silent;
    while minutes <= until {
        let (celsius, percent) = outside(minutes);
        let target = if outdoors { celsius } else { celsius + gain };
        inside = if outdoors {
            celsius
        } else {
            target + (inside - target) * (-(every as f64) / 60.0 / tau).exp()
        };
        let first = minutes == -6 * 1440;
        let knows = humidity == "yes" || humidity == "once" && first;
        world.readings.push(Reading {
            at: begins + TimeDelta::minutes(minutes),
            air: Celsius::new((inside * 10.0).round() / 10.0),
            humidity: knows.then(|| Humidity::from_fraction(percent.round() / 100.0)),
            surface: None,
        });
        minutes += every;
    }
    if forecast {
        for hour in -6 * 24..80 {
            let (celsius, percent) = outside(hour * 60);
            let falls =
                *rains > 0 && noise[hour.rem_euclid(noise.len() as i64) as usize] > 4.0 - f64::from(*rains);
            world.outdoor.push(OutdoorHour {
                at: begins + TimeDelta::hours(hour),
                air: Celsius::new(celsius),
                humidity: Some(Humidity::from_fraction(percent / 100.0)),
                rain: Some(Millimetres::new(if falls { 0.6 } else { 0.0 })),
                wind: None,
            });
        }
    }
    if let Some(minutes) = coat {
        let at = begins + TimeDelta::minutes(minutes);
        world.coat(at);
        if !unfinished {
            world.finished(at + TimeDelta::minutes(takes));
        }
        if sanded && !unfinished {
            let kind = EntryKind::step(&world.area, StepKind::Sand, None);
            world.entry(at + TimeDelta::days(2), kind);
        }
    }
    world
}
