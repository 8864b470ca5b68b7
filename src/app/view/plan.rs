//! A plan as it is shown: sessions by day, the steps in each, and why each is not earlier.

use crate::app::wording::Words;
use crate::engine::job::StepKind;
use crate::engine::plan::{AirBasis, Plan, Step, What};
use crate::engine::units::Moment;

/// A plan as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlanView {
    /// When the piece is in service, and when the work is done.
    pub summary: Vec<String>,
    /// The days on which something is done.
    pub days: Vec<PlanDay>,
    /// When each area may be handled, and when it is in service.
    pub ready: Vec<String>,
    /// The need of the coats, and its cost.
    pub materials: Vec<String>,
    /// The assumptions.
    pub assumed: Vec<String>,
}

/// A plan that may still be in progress.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlanShown {
    /// The newest plan, or why there is none; None before the first.
    pub view: Option<Result<PlanView, String>>,
    /// Whether it is being calculated.
    pub working: bool,
    /// Its progress.
    pub busy: Option<String>,
}

impl PlanShown {
    /// The line of this number.
    pub fn line(&self, number: usize) -> Option<&PlanLine> {
        let view = self.view.as_ref()?.as_ref().ok()?;
        view.days.iter().flat_map(|day| &day.lines).nth(number)
    }

    /// The number of selectable lines.
    pub fn lines(&self) -> usize {
        match &self.view {
            Some(Ok(view)) => view.days.iter().map(|day| day.lines.len()).sum(),
            _ => 0,
        }
    }
}

/// A day of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanDay {
    /// "Sat 9 May".
    pub day: String,
    /// Its steps.
    pub lines: Vec<PlanLine>,
}

/// A step of a plan as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanLine {
    /// "19:00-19:25".
    pub time: String,
    /// "roof: second coat, epoxy-sealer, wet on wet".
    pub what: String,
    /// "the window opens at 18:35"; empty for what is done beside a coat.
    pub not_earlier: String,
    /// What is entered when it is done; None for what is not recorded.
    pub enters: Option<PlanEntry>,
}

/// What a step of a plan is entered as.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanEntry {
    /// The area.
    pub area: String,
    /// The kind of the entry.
    pub kind: PlanEntryKind,
}

/// The kind of entry that a step of a plan becomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlanEntryKind {
    /// The first stroke of a coat.
    Coat,
    /// A mixed batch.
    Batch,
    /// Another step.
    Step(StepKind),
}

impl PlanEntry {
    fn of(step: &Step) -> Option<Self> {
        let kind = match step.what {
            What::Coat => PlanEntryKind::Coat,
            What::Mix => PlanEntryKind::Batch,
            What::Sand => PlanEntryKind::Step(StepKind::Sand),
            What::Wash => PlanEntryKind::Step(StepKind::Wash),
            What::TapeOn => PlanEntryKind::Step(StepKind::TapeOn),
            What::TapeOff => PlanEntryKind::Step(StepKind::TapeOff),
            What::CleanUp => return None,
        };
        Some(Self { area: step.area.clone(), kind })
    }
}

impl PlanView {
    /// A plan in words.
    pub fn of(plan: &Plan, basis: &[(String, AirBasis)], words: &Words, now: Moment) -> Self {
        let mut days: Vec<PlanDay> = Vec::new();
        for step in &plan.steps {
            let day = words.day(step.from);
            let time = format!("{}-{}", words.civil.time_of_day(step.from), words.civil.time_of_day(step.to));
            // The coat beside them says why.
            let beside = matches!(step.what, What::Mix | What::CleanUp);
            let not_earlier = if beside { String::new() } else { words.not_earlier(step, now) };
            let enters = PlanEntry::of(step);
            let line = PlanLine { time, what: words.planned(step, now), not_earlier, enters };
            match days.last_mut() {
                Some(last) if last.day == day => last.lines.push(line),
                _ => days.push(PlanDay { day, lines: vec![line] }),
            }
        }
        let mut assumed = plan.assumed.clone();
        if let Some(first) = plan.steps.iter().find(|step| step.assumed) {
            let day = words.day(first.from);
            let air = words.beyond_foresight(basis);
            assumed.insert(0, format!("from {day} on, beyond the forecast: {air}"));
        }
        Self {
            summary: words.plan_summary(plan, now),
            days,
            ready: words.ready(plan, now),
            materials: Vec::new(),
            assumed,
        }
    }
}
