//! One coat on the page: what, when, from which tin, in what air, and what was done after it.

use maud::{Markup, html};

use super::{notes, plot, time};
use crate::app::report::facts::{AreaReport, CalculatedCoat, CoatReport};
use crate::app::report::text::Tell;
use crate::engine::cure::StageTimes;
use crate::engine::job::StepDone;
use crate::engine::profile::Stage;
use crate::engine::units::{Moment, capital, clean};

/// A coat.
pub fn article(tell: Tell<'_>, area: &AreaReport, coat: &CoatReport, now: Moment) -> Markup {
    let id = format!("coat-{}", coat.id);
    let over = || area.coats.iter().find(|next| next.layer == coat.layer + 1);
    let next = if coat.off.is_some() { None } else { over() };
    html! {
        article.coat aria-labelledby=(id) {
            h3 id=(id) {
                @if coat.off.is_some() { del { (Tell::coat(coat)) } } @else { (Tell::coat(coat)) }
            }
            div.two {
                @if let Some(calculated) = &coat.calculated {
                    div { (plot::draw(tell, (area, coat, next), calculated, now)) (air(tell, coat, calculated)) }
                }
                div {
                    (facts(tell, coat))
                    (findings(tell, coat))
                    @if let Some(calculated) = &coat.calculated { (stages(tell, coat, calculated)) }
                }
            }
            @if let Some(calculated) = coat.calculated.as_ref().filter(|calculated| !calculated.assumed.is_empty()) {
                p.quiet { "Assumed: " @for assumed in &calculated.assumed { (tell.assumption(assumed)) " " } }
            }
            @if !coat.notes.is_empty() { (notes(tell, &coat.notes)) }
        }
        @if !coat.steps.is_empty() { (between(tell, &coat.steps)) }
    }
}

/// What was done between two coats.
pub fn between(tell: Tell<'_>, steps: &[StepDone]) -> Markup {
    html! {
        ul.between { @for step in steps { li { (tell.step(step)) } } }
    }
}

fn facts(tell: Tell<'_>, coat: &CoatReport) -> Markup {
    html! {
        dl.facts {
            @for (name, value) in tell.facts(coat) {
                div { dt { (name) } dd { (value) } }
            }
        }
    }
}

fn findings(tell: Tell<'_>, coat: &CoatReport) -> Markup {
    html! {
        @if !coat.findings.is_empty() {
            ul.found {
                @for finding in &coat.findings { li { (tell.finding(finding)) } }
            }
        }
    }
}

fn air(tell: Tell<'_>, coat: &CoatReport, calculated: &CalculatedCoat) -> Markup {
    let Some(air) = &calculated.air else { return html! {} };
    let caption = format!("The air over coat {} while it was wet", coat.layer);
    html! {
        div.figures {
            (super::tables::table(&caption, ["While wet", "lowest", "mean", "highest"], &tell.figures(air), false))
        }
        p.quiet { (tell.read(air)) }
    }
}

/// The stages; their moments are marked for machines too.
fn stages(tell: Tell<'_>, coat: &CoatReport, calculated: &CalculatedCoat) -> Markup {
    let caption = format!("When coat {} was what", coat.layer);
    let moment = |moment: Option<Moment>| match moment {
        Some(moment) => time(moment, &unbroken(&tell.stamp(moment))),
        None => html! { "never" },
    };
    let row = |stage: &Stage, times: &StageTimes| {
        html! {
            tr {
                th scope="row" { (Tell::stage(*stage)) }
                td { (moment(times.earliest)) }
                td { (moment(times.at)) }
                td { (moment(times.latest)) }
            }
        }
    };
    html! {
        @if !calculated.stages.is_empty() {
            div.scroll tabindex="0" role="region" aria-label=(caption) {
                table {
                    caption { (caption) }
                    thead {
                        tr { @for head in ["Stage", "earliest", "calculated", "latest"] { th scope="col" { (head) } } }
                    }
                    tbody { @for (stage, times) in &calculated.stages { (row(stage, times)) } }
                }
            }
        }
    }
}

/// A moment that breaks before its time of day, if at all.
fn unbroken(text: &str) -> String {
    let whole = |text: &str| text.replace(' ', "\u{a0}");
    match text.rsplit_once(' ') {
        Some((day, time)) if day.contains(' ') => format!("{} {time}", whole(day)),
        _ => whole(text),
    }
}

/// The name of an area in a sentence.
pub fn named(area: &AreaReport) -> String {
    capital(&clean(&area.name))
}
