//! From when on a film may be sanded for the coat to come.

use crate::engine::cure::{Bound, CoatFacts, Course, History, Law, Standing};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// From when on a film may be sanded for what comes next: once it is hard and, where its profile asks for sanding
/// before that product, once it has also reached what the profile asks for. The later of both counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SandFrom {
    /// At its earliest; None where it is not reached.
    pub earliest: Option<Moment>,
    /// At its latest, which is what a verdict rests on; None where it is not reached.
    pub latest: Option<Moment>,
    /// The stage that the profile asks for, where the film has it later than it is hard.
    pub after: Option<Stage>,
}

impl SandFrom {
    /// Of a coat with its standing.
    pub fn of(facts: CoatFacts<'_>, standing: &Standing, history: &History) -> Self {
        let hard = standing.stage(Stage::Sandable).or_else(|| standing.stage(Stage::FullCure));
        let hard = Self {
            earliest: hard.and_then(|times| times.earliest),
            latest: hard.and_then(|times| times.latest),
            after: None,
        };
        let asked = facts.next.and_then(|next| facts.product.sanded_for(next));
        let (Some(entry), Some(start)) = (asked, facts.last_stroke) else { return hard };
        let course = Course::new(history, &entry.open, Law::minimum(facts.product));
        let later = |one: Option<Moment>, other: Option<Moment>| Some(one?.max(other?));
        let latest = later(hard.latest, course.crossing(start, 1.0, Bound::Coolest));
        Self {
            earliest: later(hard.earliest, course.crossing(start, 1.0, Bound::Warmest)),
            latest,
            after: entry.after.filter(|_| latest != hard.latest),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::cure::{Outlook, Reading};
    use crate::engine::profile::{Origin, Product, read_profile};
    use crate::engine::units::Celsius;
    use chrono::TimeDelta;

    /// Hard after 16 h, fit for handling after 30 h, through after 6 d, at every temperature of the test.
    fn product(id: &str, recoat: &str) -> Product {
        let text = format!(
            "schema = 1\nid = \"{id}\"\nname = \"{id}\"\nfamily = \"{id}\"\ncure = \"reaction\"\n\
             basis = \"invented for a test\"\n[application]\nair = [5, 30]\n[stages]\n\
             sandable = [{{ at = 20, time = \"16 h\" }}]\nhandle = [{{ at = 20, time = \"30 h\" }}]\n\
             full_cure = [{{ at = 20, time = \"6 d\" }}]\n{recoat}"
        );
        read_profile(&text, Origin::BuiltIn).unwrap()
    }

    fn at(hours: i64) -> Moment {
        Moment::UNIX_EPOCH + TimeDelta::hours(hours)
    }

    /// Until which hour, at its latest, the film is left alone before it is sanded for the alkyd, and for what stage.
    fn sanded(recoat: &str) -> (f64, Option<Stage>) {
        let (under, next) = (product("epoxy", recoat), product("alkyd", ""));
        let reading = |hour| Reading { at: at(hour), air: Celsius::new(20.0), humidity: None, surface: None };
        let history = History::new((0..240).map(reading), Outlook::default());
        let facts =
            CoatFacts { first_stroke: at(0), last_stroke: Some(at(0)), product: &under, next: Some(&next) };
        let standing = Standing::calculate(facts, &history, at(20));
        let from = SandFrom::of(facts, &standing, &history);
        ((from.latest.unwrap() - at(0)).num_minutes() as f64 / 60.0, from.after)
    }

    #[test]
    fn a_film_is_sanded_at_the_later_of_hard_and_what_its_profile_asks_for() {
        let entry = |when: &str| format!("[[recoat]]\nnext = [\"alkyd\"]\nsand = true\n{when}\n");
        let (hours, after) = sanded(&entry("after = \"full_cure\""));
        assert!((144.0..160.0).contains(&hours) && after == Some(Stage::FullCure), "{hours}");
        let (hours, after) = sanded(&entry("after = \"sandable\""));
        assert!((16.0..19.0).contains(&hours) && after.is_none(), "{hours}");
        let (hours, _) = sanded(&entry("open = [{ at = 20, time = \"60 h\" }]"));
        assert!((60.0..67.0).contains(&hours), "{hours}");
        // Open before it is hard: the paper would still clog.
        let (hours, _) = sanded(&entry("open = [{ at = 20, time = \"4 h\" }]"));
        assert!((16.0..19.0).contains(&hours), "{hours}");
    }
}
