//! The stretches of a ribbon: phases over time, and where they are uncertain.

use crate::engine::assess::{AreaSurvey, CoatSurvey};
use crate::engine::cure::{Phase, Standing};
use crate::engine::job::{Coat, StepDone, StepKind};
use crate::engine::profile::Stage;
use crate::engine::units::Moment;

/// A stretch of one phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    /// Its start.
    pub from: Moment,
    /// Its end; None if unknown.
    pub to: Option<Moment>,
    /// The phase, on the safe side.
    pub phase: Phase,
    /// Whether it is certain: between the earliest and the latest moment of a change it is not.
    pub sure: bool,
    /// Whether the coat is being applied.
    pub applying: bool,
}

/// A past or due event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// When.
    pub at: Moment,
    /// What.
    pub kind: MarkKind,
}

/// The event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// The first stroke of the coat with this number.
    Coat(usize),
    /// A step was done.
    Step(StepKind),
    /// The last moment to start the next coat.
    LastCall,
}

impl CoatSurvey<'_> {
    /// Its phases over time.
    pub fn bands(&self, now: Moment) -> Vec<Band> {
        bands(&self.coat, &self.standing, false, now)
    }
}

/// The stretches of a coat from its first stroke on, in order and without gaps. A film that is sanded before
/// the next coat has no window: it is wet until it is sandable.
fn bands(coat: &Coat, standing: &Standing, sanded_next: bool, now: Moment) -> Vec<Band> {
    let sandable = standing.stage(Stage::Sandable).and_then(|times| times.latest);
    let phase_at = |at: Moment| match standing.phase_at(at) {
        Phase::Wet | Phase::Open | Phase::Shut if sanded_next => {
            if sandable.is_some_and(|sandable| sandable <= at) { Phase::Sandable } else { Phase::Wet }
        }
        phase => phase,
    };
    let applied = coat.last_stroke.unwrap_or_else(|| now.max(coat.first_stroke));
    let mut edges = vec![coat.first_stroke, applied];
    let mut unsure = Vec::new();
    let windows: &[Stage] = if sanded_next { &[] } else { &[Stage::RecoatOpen, Stage::RecoatClose] };
    for stage in windows.iter().copied().chain([Stage::Sandable, Stage::FullCure]) {
        let Some(times) = standing.stage(stage) else { continue };
        edges.extend([times.earliest, times.latest].into_iter().flatten());
        if let Some(earliest) = times.earliest {
            unsure.push((stage, earliest, times.latest));
        }
    }
    edges.retain(|edge| *edge >= coat.first_stroke);
    edges.sort();
    edges.dedup();
    let mut bands: Vec<Band> = Vec::new();
    for (index, &from) in edges.iter().enumerate() {
        let applying = from < applied;
        let phase = if applying { Phase::Wet } else { phase_at(from) };
        let sure = !unsure.iter().any(|(stage, earliest, latest)| {
            let inside = from >= *earliest && latest.is_none_or(|latest| from < latest);
            inside && changes(*stage, phase)
        });
        let band = Band { from, to: edges.get(index + 1).copied(), phase, sure, applying };
        match bands.last_mut() {
            Some(last) if (last.phase, last.sure, last.applying) == (phase, sure, applying) => {
                last.to = band.to
            }
            _ => bands.push(band),
        }
    }
    bands
}

/// The stretches of an area's newest coat.
pub fn area_bands(area: &AreaSurvey<'_>, coat: &CoatSurvey<'_>, now: Moment) -> Vec<Band> {
    let sanded_next = area.wants_coat() && area.sands_next() && !area.prepared;
    bands(&coat.coat, &coat.standing, sanded_next, now)
}

/// Whether this stage ends this phase: full cure follows a sandable film, not a wet one.
const fn changes(stage: Stage, phase: Phase) -> bool {
    match stage {
        Stage::RecoatOpen => matches!(phase, Phase::Wet),
        Stage::RecoatClose => matches!(phase, Phase::Shut | Phase::Sandable),
        Stage::Sandable => matches!(phase, Phase::Shut | Phase::Wet),
        Stage::FullCure => !matches!(phase, Phase::Cured),
        _ => false,
    }
}

/// The events of an area, and its last call.
pub fn marks(strokes: &[Moment], steps: &[StepDone], last_call: Option<Moment>) -> Vec<Mark> {
    let coats = strokes.iter().enumerate().map(|(i, at)| Mark { at: *at, kind: MarkKind::Coat(i + 1) });
    let steps = steps.iter().map(|step| Mark { at: step.at, kind: MarkKind::Step(step.kind) });
    let call = last_call.map(|at| Mark { at, kind: MarkKind::LastCall });
    let mut marks: Vec<Mark> = coats.chain(steps).chain(call).collect();
    marks.sort_by_key(|mark| mark.at);
    marks
}
