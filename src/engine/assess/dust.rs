//! Dust of sanding, and a film nearby to which it would stick.

use super::{AreaSurvey, CoatSurvey};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// A film in the same place that is not tack-free.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tacky {
    /// Its area.
    pub area: String,
    /// Until when, at its latest; None while it is still being applied, or where that is not reached.
    pub until: Option<Moment>,
    /// Whether it is still being applied.
    pub applying: bool,
}

impl CoatSurvey<'_> {
    /// The stage from which on dust does not stick to the film: tack-free or, where its profile does not say when
    /// that is, the next stage that it gives.
    pub fn dust_free(&self) -> Option<Stage> {
        let stages = [Stage::TackFree, Stage::Sandable, Stage::FullCure];
        stages.into_iter().find(|stage| self.standing.stage(*stage).is_some())
    }
}

impl AreaSurvey<'_> {
    /// Whether dust would stick to the newest film at a moment.
    pub fn tacky(&self, at: Moment) -> Option<Tacky> {
        let coat = self.newest.as_ref()?;
        let applying = coat.coat.last_stroke.is_none();
        let until = coat.standing.stage(coat.dust_free()?)?.latest;
        (applying || until.is_none_or(|until| until > at)).then(|| Tacky {
            area: self.name.clone(),
            until: until.filter(|_| !applying),
            applying,
        })
    }
}

/// The film beside an area, in the same place, to which the dust of sanding it would stick the longest.
pub fn tacky_beside(areas: &[AreaSurvey<'_>], area: &AreaSurvey<'_>, at: Moment) -> Option<Tacky> {
    let beside = areas.iter().filter(|other| other.place == area.place && other.name != area.name);
    let tacky = beside.filter_map(|other| other.tacky(at));
    tacky.max_by_key(|tacky| tacky.until.unwrap_or(Moment::MAX_UTC))
}
