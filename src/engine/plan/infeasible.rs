//! Why there is no plan: the step, its need, and the remedy.

use chrono::TimeDelta;

use super::area::{NEVER, Reach};
use super::bound::earliest;
use super::explain::What;
use super::grid::Grid;
use super::planning::Planning;
use super::precedence::{Follows, Part, part_of};
use super::problem::{Chain, Tick};
use super::suitability::Fitness;
use super::work::{AreaNow, Preparation, Work};
use crate::engine::air::Objection;
use crate::engine::profile::UnknownProduct;
use crate::engine::units::duration_text;

/// Why a scheme has no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SchemeFault {
    /// An unknown product.
    #[error("area \"{area}\": {unknown}")]
    Unknown {
        /// The area.
        area: String,
        /// The product.
        unknown: UnknownProduct,
    },
    /// Tape comes off that is not on.
    #[error(
        "area \"{area}\": tape comes off before any coat; put {{ tape = \"off\" }} after the last coat it is for"
    )]
    TapeFirst {
        /// The area.
        area: String,
    },
    /// Tape goes on after the last coat.
    #[error(
        "area \"{area}\": tape goes on after the last coat; put {{ tape = \"on\" }} before the coat it is for"
    )]
    TapeLast {
        /// The area.
        area: String,
    },
    /// A coat that must go on the open film, with a step in between.
    #[error(
        "area \"{area}\": {product} must go wet on wet, but there is sanding or washing before it; remove one of the two"
    )]
    Excluded {
        /// The area.
        area: String,
        /// The product.
        product: String,
    },
    /// A coat that must go on the open film of a product without a window for it.
    #[error(
        "area \"{area}\": {product} must go wet on wet on {under}, whose profile gives no window for it; sand between them, or correct the profile"
    )]
    NoWindow {
        /// The area.
        area: String,
        /// The product.
        product: String,
        /// The product under it.
        under: String,
    },
    /// A coat that no profile allows on the film below, and that is not confirmed.
    #[error(
        "area \"{area}\": no profile lists {product} on {under}; check both data sheets, then curewright check \"{area}\" {product} --yes"
    )]
    NotAllowed {
        /// The area.
        area: String,
        /// The product.
        product: String,
        /// The product under it.
        under: String,
    },
    /// A film that is never sandable by its profile.
    #[error(
        "area \"{area}\": {product} goes on sanded {under}, whose profile does not say when it can be sanded; add `sandable` or `full_cure` to it"
    )]
    NeverSandable {
        /// The area.
        area: String,
        /// The product.
        product: String,
        /// The product under it.
        under: String,
    },
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Infeasible {
    /// The scheme cannot be carried out as it is.
    #[error(transparent)]
    Scheme(#[from] SchemeFault),
    /// Stopped by the caller.
    #[error("it was stopped before a plan was found")]
    Stopped,
    /// A place has no readings.
    #[error(
        "the temperature of {place} is unknown; enter one (curewright reading 15C), or give one for the plan (--temperature 15C)"
    )]
    NoTemperature {
        /// The place.
        place: String,
    },
    /// There is no free hour.
    #[error("no hour is free in the next {days} days; give your free hours")]
    NoFreeHour {
        /// The horizon in days.
        days: u32,
    },
    /// A step longer than every free stretch.
    #[error(
        "area \"{area}\": {step} needs {} without a break, with mixing and cleaning up, and the longest free time is {}; free {} once, or split the area in two",
        duration_text(*needs), duration_text(*longest), duration_text(*needs)
    )]
    TooLong {
        /// The area.
        area: String,
        /// The step.
        step: String,
        /// Its duration.
        needs: TimeDelta,
        /// The longest free stretch.
        longest: TimeDelta,
    },
    /// No free hour has suitable air for a coat.
    #[error(
        "area \"{area}\": {step} finds no free hour in {days} days with suitable air until it is tack-free{}; {}",
        because(*against),
        remedy(*against)
    )]
    NoAir {
        /// The area.
        area: String,
        /// The step.
        step: String,
        /// The most frequent objection.
        against: Option<Objection>,
        /// The horizon in days.
        days: u32,
    },
    /// A window without a free hour.
    #[error(
        "area \"{area}\": {step} must go on in the window of the coat below, and no free hour falls in it; heat or cool the shop to move the window, ask a helper for that hour, or allow a sanding (leave out wet_on_wet = \"must\")"
    )]
    NoWindow {
        /// The area.
        area: String,
        /// The step.
        step: String,
    },
    /// A step beyond the horizon.
    #[error("area \"{area}\": {step} is not reached within {days} days; plan for longer (--days {}), free more hours, or heat the shop (--heat 18C)", days * 2)]
    NotReached {
        /// The area.
        area: String,
        /// The step.
        step: String,
        /// The horizon in days.
        days: u32,
    },
    /// Every area alone has a plan; for all together none was found.
    #[error("no plan was found for {days} days in this time, though there may be one; search again, plan for longer (--days {}), or free more hours", days * 2)]
    NotFound {
        /// The horizon in days.
        days: u32,
    },
    /// Every area alone has a plan; all together have none.
    #[error("the work does not fit into the free hours of {days} days; plan for longer (--days {}), or free more hours", days * 2)]
    NotWithin {
        /// The horizon in days.
        days: u32,
    },
}

/// What may help against an objection.
fn remedy(against: Option<Objection>) -> &'static str {
    match against {
        Some(Objection::TooWarm(..) | Objection::SurfaceTooWarm(..)) => {
            "cool or shade the place, or free other hours"
        }
        Some(Objection::Rain(_) | Objection::WetGround(..)) => "cover the place, or free other hours",
        Some(Objection::TooDry(..)) => "dampen the air, or free other hours",
        _ => "heat the shop (--heat 15C), or free other hours",
    }
}

/// The objection in brackets: " (mostly dew)".
fn because(against: Option<Objection>) -> String {
    let what = match against {
        Some(Objection::TooCold(..) | Objection::SurfaceTooCold(..)) => "cold",
        Some(Objection::TooWarm(..) | Objection::SurfaceTooWarm(..)) => "heat",
        Some(Objection::TooDamp(..)) => "a humidity above its limit",
        Some(Objection::TooDry(..)) => "a humidity below its limit",
        Some(Objection::DewMargin(..)) => "dew",
        Some(Objection::Rain(_)) => "rain",
        Some(Objection::Warming(_)) => "bare wood that warms",
        Some(Objection::Stalls(..)) => "cold in which the film does not cure",
        _ => return String::new(),
    };
    format!(" (mostly {what})")
}

/// A step in words: "coat 2 (primer-two-part)".
pub(super) fn step_name(work: &Work<'_>, step: usize) -> String {
    let (coat, part) = part_of(step);
    match (part, work.coats.get(coat)) {
        (Part::Tape, _) => What::TapeOff.word().to_owned(),
        (Part::Coat, Some(coat)) => format!("coat {} ({})", coat.layer, coat.product.id),
        (Part::Prep(which), before) => {
            let what = match work.preps.get(coat).and_then(|preps| preps.get(which)) {
                Some(Preparation::Wash) => "washing",
                _ => "sanding",
            };
            match before {
                Some(coat) => format!("{what} before coat {}", coat.layer),
                None => format!("{what} at the end"),
            }
        }
        (Part::Coat, None) => "a step".to_owned(),
    }
}

/// The first step that is longer than every free stretch.
pub(super) fn too_long(
    works: &[Work<'_>],
    areas: &[AreaNow<'_>],
    free: &[(Tick, Tick)],
) -> Result<(), Infeasible> {
    let longest = free.iter().map(|(from, to)| to - from).max().unwrap_or(0);
    for (work, area) in works.iter().zip(areas) {
        let coats = work.stack.coats.iter().enumerate();
        let coats = coats.flat_map(|(number, coat)| {
            let own = (super::precedence::step_of(number, Part::Coat), coat.whole());
            let needed = coat.follows == Follows::Prepared;
            let preps = coat.preps.iter().enumerate().filter(move |_| needed);
            let preps = preps.map(move |(which, prep)| {
                (super::precedence::step_of(number, Part::Prep(which)), prep.length)
            });
            preps.chain([own])
        });
        if let Some((step, length)) = coats.into_iter().find(|(_, length)| *length > longest) {
            return Err(Infeasible::TooLong {
                area: area.name.clone(),
                step: step_name(work, step),
                needs: Grid::length(length),
                longest: Grid::length(longest),
            });
        }
    }
    Ok(())
}

/// The first area without a plan of its own, and the step that it cannot reach.
pub(super) fn blocked(planning: &Planning<'_>) -> Result<(), Infeasible> {
    for (index, chain) in planning.problem.chains.iter().enumerate() {
        if Reach::of(chain).whole(NEVER) != NEVER {
            continue;
        }
        let (work, area) = (&planning.works[index], planning.input.areas[index].name.clone());
        let days = planning.input.days;
        let Some(step) = first_unreached(chain) else {
            return Err(Infeasible::NotWithin { days });
        };
        let name = step_name(work, step);
        let (coat, part) = part_of(step);
        let starts = chain.nodes.iter().filter(|node| node.step == step).map(|node| node.starts.len());
        let open = work.stack.coats.get(coat).is_some_and(|coat| coat.follows == Follows::Open);
        let under =
            coat > 0 || planning.input.areas[index].newest.is_some() && !planning.input.areas[index].prepared;
        return Err(match part {
            Part::Coat if starts.max() == Some(0) => {
                let against = planning.fit[index].get(coat).and_then(Fitness::mostly);
                Infeasible::NoAir { area, step: name, against, days }
            }
            Part::Coat if open && under => Infeasible::NoWindow { area, step: name },
            _ => Infeasible::NotReached { area, step: name, days },
        });
    }
    Ok(())
}

/// The first unreachable step, in the order of work.
fn first_unreached(chain: &Chain) -> Option<usize> {
    let first = earliest(chain);
    let reached = |step: usize| {
        let mut blocks = chain.nodes.iter().zip(&first).filter(|(node, _)| node.step == step);
        blocks.any(|(node, first)| (*first as usize) < node.starts.len())
    };
    let coats = chain.nodes.iter().map(|node| node.step).filter(|step| part_of(*step).1 == Part::Coat);
    let unreached = coats.into_iter().find(|step| !reached(*step));
    unreached.or_else(|| chain.nodes.iter().map(|node| node.step).find(|step| !reached(*step)))
}
