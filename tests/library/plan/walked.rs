//! Plans of made-up pieces from the real products, walked through the cure engine once more.

use chrono::TimeDelta;
use curewright::engine::assess::SandFrom;
use curewright::engine::config::SessionTimes;
use curewright::engine::cure::{CoatFacts, History, Outlook, Reading, Standing};
use curewright::engine::job::Scheme;
use curewright::engine::plan::{
    Aim, AreaNow, Effort, FreeTime, Infeasible, Input, NewestCoat, PlaceAir, Plan, Planning, ProgressSink,
    walk,
};
use curewright::engine::profile::Library;
use curewright::engine::units::{Celsius, Humidity, KelvinDelta, Moment};

use super::model::Dice;

/// A piece, its air and its free hours.
pub struct Piece {
    pub now: Moment,
    pub scheme: Scheme,
    pub history: History,
    pub free: FreeTime,
    pub heat: Option<Celsius>,
    recorded: Vec<Option<TimeDelta>>,
}

const STACKS: [&[&str]; 6] = [
    &["epoxy-sealer", "epoxy-sealer", "sand", "primer-two-part", "paint-two-part", "paint-two-part"],
    &["primer-alkyd", "sand", "enamel-alkyd", "enamel-alkyd"],
    &["tape", "varnish-two-part", "varnish-two-part", "off", "sand", "varnish-two-part"],
    &["varnish-water", "varnish-water", "varnish-water"],
    &["epoxy-laminating-fast", "epoxy-laminating-fast", "epoxy-fairing-filler", "sand", "primer-high-build"],
    &["oil-penetrating", "oil-penetrating"],
];

pub fn piece(seed: u64) -> Piece {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let now: Moment = "2026-05-04T16:02:00Z".parse().unwrap();
    let (mean, swing) = (f64::from(dice.roll(10, 22)), f64::from(dice.roll(1, 6)));
    let damp = f64::from(dice.roll(40, 75)) / 100.0;
    let days = dice.roll(0, 5);
    let readings = (0..=days * 24).map(|hour| {
        let at = now - TimeDelta::hours(i64::from(days * 24 - hour));
        let turn = (at.timestamp() as f64 / 86_400.0 - 0.4).fract() * std::f64::consts::TAU;
        let air = Celsius::new(mean + swing * turn.sin());
        Reading { at, air, humidity: Some(Humidity::from_fraction(damp)), surface: None }
    });
    let history = History::new(readings, Outlook::held(KelvinDelta::new(1.0)));
    let history = history.with_outlook(Outlook::from_record(&history, KelvinDelta::new(1.0)));
    let mut free = Vec::new();
    for day in 0..30 {
        let midnight = now - TimeDelta::hours(16) + TimeDelta::days(day);
        let from = midnight + TimeDelta::minutes(i64::from(dice.roll(0, 9)) * 7 + 18 * 60);
        if dice.chance(70) {
            free.push((from, from + TimeDelta::minutes(i64::from(dice.roll(70, 260)))));
        }
        if dice.chance(25) {
            free.push((midnight + TimeDelta::hours(8), midnight + TimeDelta::hours(13)));
        }
    }
    let areas = dice.roll(1, 3);
    let mut text = "name = \"piece\"\n".to_owned();
    let mut recorded = Vec::new();
    for area in 0..areas {
        let stack = STACKS[dice.roll(0, STACKS.len() as u32 - 1) as usize];
        let size = dice.roll(1, 6);
        text += &format!("[[area]]\nname = \"area {area}\"\nsquare_metres = {size}\n");
        if dice.chance(80) {
            text += &format!("minutes_per_square_metre = {}\n", dice.roll(3, 12));
        }
        let steps = stack.iter().map(|step| match *step {
            "sand" => "{ sand = \"240\", minutes = 35 }".to_owned(),
            "tape" => "{ tape = \"on\" }".to_owned(),
            "off" => "{ tape = \"off\" }".to_owned(),
            coat if dice.chance(8) => format!("{{ coat = \"{coat}\", wet_on_wet = \"never\" }}"),
            coat => format!("{{ coat = \"{coat}\" }}"),
        });
        text += &format!("steps = [{}]\n", steps.collect::<Vec<_>>().join(", "));
        let bare = stack[0] == "tape" || !dice.chance(40);
        recorded.push((!bare).then(|| TimeDelta::hours(i64::from(dice.roll(1, 60)))));
    }
    let heat = dice.chance(25).then(|| Celsius::new(18.0));
    Piece { now, scheme: Scheme::read(&text).unwrap(), history, free: FreeTime::new(free), heat, recorded }
}

impl Piece {
    /// Plans it by each aim, and walks through the plans.
    pub fn walked(
        &self,
        library: &Library,
        aims: &[Aim],
        watch: &mut ProgressSink<'_>,
    ) -> Result<Vec<(Plan, Vec<String>)>, Infeasible> {
        let known_until = self.history.last_reading().unwrap_or(self.now);
        let places = [PlaceAir {
            name: "shop",
            history: &self.history,
            rain: &[],
            known_until,
            climates: &[],
            sky: None,
        }];
        let areas: Vec<AreaNow<'_>> = self
            .scheme
            .areas
            .iter()
            .zip(&self.recorded)
            .map(|(area, ago)| {
                let mut to_do = area.steps.clone();
                let newest = ago.map(|ago| {
                    to_do.remove(0);
                    let product = |id: &str| library.get(id).unwrap();
                    let mut coats = area.coats().map(product);
                    let (first, next) = (coats.next().unwrap(), coats.next());
                    let stroke = self.now - ago;
                    let facts =
                        CoatFacts { first_stroke: stroke, last_stroke: Some(stroke), product: first, next };
                    let standing = Standing::calculate(facts, &self.history, self.now);
                    NewestCoat {
                        product: first,
                        sand_from: SandFrom::of(facts, &standing, &self.history).latest,
                        standing,
                        run: 1,
                        window_for: next.map(|next| next.id.as_str()),
                    }
                });
                AreaNow { coats: usize::from(newest.is_some()), newest, to_do, ..AreaNow::bare(area) }
            })
            .collect();
        let input = Input {
            now: self.now,
            days: 30,
            free: &self.free,
            places: &places,
            areas: &areas,
            library,
            lead: TimeDelta::minutes(15),
            session: SessionTimes::default(),
            heat: self.heat,
            pace: None,
            notes: &[],
        };
        let planning = Planning::prepare_while(input, watch)?;
        let effort = Effort { each: 100, tries: 2, proof: 400, near: 0, polish: 4 };
        let walked = aims.iter().map(|aim| {
            let plan = planning.plan(&planning.solve(*aim, effort, watch)?);
            let faults = walk(&input, &plan);
            Ok((plan, faults))
        });
        walked.collect()
    }
}
