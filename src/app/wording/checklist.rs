//! The next session of a plan as a checklist for the bench and for paper.

use crate::app::wording::{Words, sentence};
use crate::engine::amounts::{CoatQuantity, Quantities};
use crate::engine::assess::Survey;
use crate::engine::job::StepKind;
use crate::engine::plan::{NextSession, Step, What};
use crate::engine::profile::{Application, COMES_FIRST, Library, Product};
use crate::engine::units::{Grams, Moment, clean};

/// A session as a checklist.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Checklist {
    /// Which session it is, and of which moment the plan.
    pub head: Vec<String>,
    /// Its parts, in the order of the work.
    pub parts: Vec<ChecklistPart>,
    /// What comes after it.
    pub after: Vec<String>,
}

/// A part of a checklist.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChecklistPart {
    /// Its heading.
    pub name: &'static str,
    /// What is ticked off, or only read.
    pub ticked: bool,
    /// Its lines.
    pub lines: Vec<String>,
}

impl Words {
    /// The checklist of a session; `amounts` of the areas that are coated in it.
    pub fn checklist(
        &self,
        session: &NextSession<'_>,
        (survey, library): (&Survey<'_>, &Library),
        amounts: &[Quantities<'_>],
        scale: Grams,
    ) -> Checklist {
        let now = survey.at;
        let piece = survey.piece.as_deref().map(|piece| format!("{}: ", clean(piece))).unwrap_or_default();
        let begins = session.steps.first().map_or(now, |step| step.from);
        let ends = session.steps.iter().map(|step| step.to).max().unwrap_or(begins);
        let time = |moment| self.civil.time_of_day(moment);
        let head = vec![
            format!("{piece}session of {}, {} to {}", self.day(begins), time(begins), time(ends)),
            format!("Planned {} {}. Plan again when the weather has changed.", self.day(now), time(now)),
        ];
        let coats: Vec<(&Step, &Product)> = session
            .steps
            .iter()
            .filter(|step| step.what == What::Coat)
            .filter_map(|step| Some((step, library.get(step.product.as_deref()?).ok()?)))
            .collect();
        let mut parts = vec![self.before_you_begin(session, survey, &coats)];
        let ready = coats.iter().flat_map(|(step, _)| self.get_ready(step, amounts, scale)).collect();
        parts.push(ChecklistPart { name: "Get ready", ticked: true, lines: ready });
        let mut care: Vec<String> = Vec::new();
        for caution in coats.iter().flat_map(|(_, product)| product.cautions.iter().map(|one| clean(one))) {
            if !care.contains(&caution) {
                care.push(caution);
            }
        }
        if session.steps.iter().any(|step| step.what == What::Sand) {
            care.extend(StepKind::Sand.caution().map(str::to_owned));
        }
        care.push(COMES_FIRST.into());
        parts.push(ChecklistPart { name: "Take care", ticked: false, lines: care });
        let steps = session.steps.iter();
        let steps =
            steps.map(|step| format!("{}-{}  {}", time(step.from), time(step.to), self.planned(step, now)));
        parts.push(ChecklistPart { name: "Steps", ticked: true, lines: steps.collect() });
        parts.retain(|part| !part.lines.is_empty());
        Checklist { head, parts, after: self.after_session(session, now) }
    }

    fn before_you_begin(
        &self,
        session: &NextSession<'_>,
        survey: &Survey<'_>,
        coats: &[(&Step, &Product)],
    ) -> ChecklistPart {
        let now = survey.at;
        let mut lines = vec!["Read the thermometer and the hygrometer: curewright reading".to_owned()];
        let mut seen: Vec<&str> = Vec::new();
        for step in session.steps {
            let area = survey.area(&step.area).filter(|_| !seen.contains(&step.area.as_str()));
            let Some(area) = area.filter(|_| !matches!(step.what, What::Mix | What::CleanUp)) else {
                continue;
            };
            seen.push(&step.area);
            lines.push(format!(
                "{}: {} as of {}. Check again before you begin.",
                clean(&area.name),
                self.headline(area.verdict(now), now),
                self.civil.time_of_day(now)
            ));
        }
        let mut named: Vec<&str> = Vec::new();
        for (step, product) in coats {
            if named.contains(&product.id.as_str()) {
                continue;
            }
            named.push(&product.id);
            let expected = self.expected(survey, step);
            lines.push(format!("{}: {}{expected}", product.id, self.limits(&product.application)));
        }
        ChecklistPart { name: "Before you begin", ticked: true, lines }
    }

    /// The air in which a product may be applied.
    fn limits(&self, limits: &Application) -> String {
        let (coolest, warmest) =
            (self.units.temperature(limits.coolest), self.units.temperature(limits.warmest));
        let mut said = vec![format!("air {coolest} to {warmest}")];
        said.extend(limits.humidity_min.map(|least| format!("humidity at least {least}")));
        said.extend(limits.humidity_max.map(|most| format!("humidity at most {most}")));
        let margin = self.units.difference(limits.dew_margin);
        said.push(format!("surface at least {margin} above the dew point"));
        format!("{}.", said.join(", "))
    }

    /// The air that is expected when a step begins.
    fn expected(&self, survey: &Survey<'_>, step: &Step) -> String {
        let sky = survey.area(&step.area).and_then(|area| survey.sky(&area.place));
        let air = sky.and_then(|sky| sky.history.air_at(step.from));
        let Some(air) = air.filter(|_| !step.assumed) else {
            return " The air then is beyond the forecast.".into();
        };
        let humidity = sky.and_then(|sky| sky.history.humidity_at(step.from));
        let humidity = humidity.map(|humidity| format!(", humidity {humidity}")).unwrap_or_default();
        let at = self.civil.time_of_day(step.from);
        format!(" Expected at {at}: {}{humidity}.", self.units.temperature(air))
    }

    /// What a coat needs: how much, what to weigh out, how long it stands.
    fn get_ready(&self, step: &Step, amounts: &[Quantities<'_>], scale: Grams) -> Vec<String> {
        let area = clean(&step.area);
        let found: Option<&CoatQuantity<'_>> = amounts
            .iter()
            .flat_map(|all| &all.areas)
            .filter(|quantity| quantity.area == step.area)
            .flat_map(|quantity| &quantity.coats)
            .find(|coat| coat.layer == step.layer);
        let product = step.product.as_deref().unwrap_or_default();
        let head = format!("{product} for {area}, coat {}", step.layer);
        let Some(coat) = found else {
            return vec![format!("{head}: how much is unknown; give the size of the area")];
        };
        let mut says = vec![sentence(&format!("{}: {}", head, self.amount(coat)))];
        says.extend(self.mixing(coat, scale));
        vec![says.join(" ")]
    }

    fn after_session(&self, session: &NextSession<'_>, now: Moment) -> Vec<String> {
        let mut after =
            vec!["Enter the first and the last stroke of every coat: the plan follows them.".into()];
        after.push(match session.after {
            Some(step) => format!(
                "Next session: {} {}, {}.",
                self.day(step.from),
                self.civil.time_of_day(step.from),
                self.planned(step, now)
            ),
            None => "It is the last session of the plan.".into(),
        });
        after
    }
}
