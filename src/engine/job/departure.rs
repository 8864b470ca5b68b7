//! How a coat departs from the scheme of its area.

use super::scheme::SchemeStep;
use super::state::Area;

/// What the scheme says, where a coat does not follow it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Departure {
    /// The scheme has another product here, or other steps before it.
    Differs {
        /// The product of the next planned coat.
        planned: String,
        /// The planned steps before it that are not recorded.
        before: Vec<SchemeStep>,
    },
    /// Every coat of the scheme is on already.
    OneMore,
}

impl Area {
    /// How a coat of a product would depart from the scheme now; None where it follows it, or no scheme has
    /// coats for the area.
    pub fn departure(&self, product: &str) -> Option<Departure> {
        self.planned_coats()?;
        let to_do = self.to_do();
        let Some((coat, planned)) =
            to_do.iter().enumerate().find_map(|(at, step)| Some((at, step.product()?)))
        else {
            return Some(Departure::OneMore);
        };
        (planned != product || coat > 0)
            .then(|| Departure::Differs { planned: planned.to_owned(), before: to_do[..coat].to_vec() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::job::{Scheme, StepDone, StepKind};
    use crate::engine::units::Moment;

    const DOOR: &str = r#"
        name = "Hut"
        [[area]]
        name = "door"
        steps = [{ tape = "on" }, { coat = "varnish" }, { sand = "240" }, { coat = "oil" }]
    "#;

    fn door() -> Area {
        let mut area = Area::new("door");
        area.plan = Scheme::read(DOOR).unwrap().areas.pop();
        area
    }

    fn did(area: &mut Area, kind: StepKind) {
        let id = crate::engine::job::EntryId(area.steps.len() as i64 + 1);
        area.steps.push(StepDone {
            id,
            kind,
            at: Moment::UNIX_EPOCH,
            minutes: None,
            coats: 0,
            undone: false,
        });
    }

    #[test]
    fn a_coat_before_its_tape_is_on_departs_from_the_scheme() {
        let mut area = door();
        let before = vec![SchemeStep::Tape { on: true }];
        assert_eq!(area.departure("varnish"), Some(Departure::Differs { planned: "varnish".into(), before }));
        did(&mut area, StepKind::TapeOn);
        assert_eq!(area.departure("varnish"), None);
    }

    #[test]
    fn another_product_departs_from_the_scheme_also_where_it_comes_later() {
        let mut area = door();
        did(&mut area, StepKind::TapeOn);
        let differs = Some(Departure::Differs { planned: "varnish".into(), before: Vec::new() });
        assert_eq!(area.departure("oil"), differs);
        assert_eq!(area.departure("wax"), differs);
    }

    #[test]
    fn an_area_without_planned_coats_has_nothing_to_depart_from() {
        assert_eq!(Area::new("sill").departure("oil"), None);
        let mut area = door();
        area.plan.as_mut().unwrap().steps.clear();
        assert_eq!(area.departure("oil"), None);
    }
}
