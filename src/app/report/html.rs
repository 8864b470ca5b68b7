//! The report as a page: one file, without script, that asks nothing of anywhere, for a screen of any width,
//! for paper, and for those who cannot see its drawings. Every value is escaped by the template.

mod coat;
mod plot;
mod stack;
mod tables;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::facts::{AreaReport, Report};
use super::text::{GENERIC, Tell};
use crate::app::wording::Words;
use crate::engine::job::Note;
use crate::engine::profile::COMES_FIRST;
use crate::engine::units::{Moment, capital, clean, hours_text, rfc3339};

/// The colours, the layout on screens and on paper.
const STYLE: &str = include_str!("html/style.css");
/// Whatever the page should hold by mistake: nothing of it is fetched or run.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

/// What every page begins with, and no page of anybody else's: it may be replaced.
pub const PAGE_MARK: &str = "<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\">\
                             <meta name=\"generator\" content=\"curewright ";

/// Writes a report as a page. `made_by` names the program.
pub fn html(report: &Report, words: &Words, made_by: &str) -> String {
    let tell = Tell::new(words);
    let title = Tell::title(report);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                // The mark by which a page of this program is known: see `PAGE_MARK`.
                meta name="generator" content=(made_by);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    p.lead { (tell.lead(report)) }
                    dl.who {
                        @for (what, given) in Tell::head(report) {
                            div { dt { (what) } dd.blank[given.is_empty()] { (given) } }
                        }
                    }
                    (sums(report))
                    (contents(report))
                }
                main {
                    (limits(tell, report))
                    @for area in &report.areas { (self::area(tell, report, area)) }
                    (tables::hours(tell, report))
                    (tables::materials(tell, report))
                    @if !report.notes.is_empty() {
                        section { h2 { "Notes" } (notes(tell, &report.notes)) }
                    }
                    (tables::products(tell, report))
                    (cautions(report))
                }
                footer { (foot(tell, report, made_by)) }
            }
        }
    };
    page.into_string()
}

/// What one looks for first.
fn sums(report: &Report) -> Markup {
    let findings = report.findings().count();
    let planned: Option<usize> = report.areas.iter().map(|area| area.planned).sum();
    let done = report.coats().count();
    html! {
        dl.sums {
            div { dt { "Areas" } dd { (report.areas.len()) } }
            div {
                dt { "Coats" }
                dd { (done) @if let Some(planned) = planned.filter(|planned| *planned > 0) { " of " (planned) } }
            }
            div { dt { "Hours of work" } dd { (hours_text(report.hours.worked)) } }
            div { dt { "Paid for material" } dd { (report.money.paid.map_or_else(|| "–".into(), Tell::money)) } }
            div { dt { "Outside the limits" } dd.alarm[findings > 0] { (findings) } }
        }
    }
}

fn contents(report: &Report) -> Markup {
    html! {
        nav aria-label="Contents" {
            ul {
                @for area in &report.areas {
                    li { a href={ "#" (anchor(&area.name)) } { (capital(&clean(&area.name))) } }
                }
                li { a href="#hours" { "Hours" } }
                li { a href="#materials" { "Materials" } }
                li { a href="#basis" { "How this was calculated" } }
            }
        }
    }
}

fn limits(tell: Tell<'_>, report: &Report) -> Markup {
    let findings: Vec<_> = report.findings().collect();
    html! {
        section {
            h2 { "Outside the data sheets’ limits" }
            div.limits.found[!findings.is_empty()] {
                @if findings.is_empty() {
                    p { (Tell::no_findings(report)) }
                } @else {
                    ul {
                        @for (area, coat, finding) in findings {
                            li {
                                a href={ "#coat-" (coat.id) } { (capital(&clean(&area.name))) ", coat " (coat.layer) }
                                ": " (tell.finding(finding))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn area(tell: Tell<'_>, report: &Report, area: &AreaReport) -> Markup {
    let id = anchor(&area.name);
    html! {
        section.area aria-labelledby=(id) {
            div {
                h2 id=(id) { (capital(&clean(&area.name))) }
                p { (tell.area(area)) }
                @if let Some(now) = area.now.as_ref().filter(|now| !now.says.is_empty()) {
                    p { (now.says) }
                }
            }
            @if !area.coats.is_empty() || area.planned.is_some() {
                div.card { div.two { figure { (stack::draw(tell, area)) } (beside(report, area)) } }
            }
            @if !area.before.is_empty() { (coat::between(tell, &area.before)) }
            @for coat in &area.coats { (coat::article(tell, area, coat, report.at)) }
            @for coat in &area.stripped { (coat::article(tell, area, coat, report.at)) }
            @if !area.notes.is_empty() { (notes(tell, &area.notes)) }
        }
    }
}

/// What is worth a look beside the stack: the work on it, and what the scheme gives.
fn beside(report: &Report, area: &AreaReport) -> Markup {
    let hours = report.hours.areas.iter().find(|hours| hours.area == area.name);
    let found = area.coats.iter().map(|coat| coat.findings.len()).sum::<usize>();
    html! {
        dl.facts {
            @if let Some(hours) = hours {
                div { dt { "Worked" } dd { (hours_text(hours.worked)) } }
                @if let Some(planned) = hours.planned_so_far {
                    div { dt { "Scheme so far" } dd { (hours_text(planned)) } }
                }
                @if let Some(planned) = hours.planned { div { dt { "Scheme in all" } dd { (hours_text(planned)) } } }
            }
            div { dt { "Outside limits" } dd.alarm[found > 0] { (found) } }
        }
    }
}

fn anchor(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    format!("area-{}", clean(name).chars().map(plain).collect::<String>())
}

fn notes(tell: Tell<'_>, notes: &[Note]) -> Markup {
    html! {
        ul { @for note in notes { li { (tell.note(note)) } } }
    }
}

fn cautions(report: &Report) -> Markup {
    let cautions = Tell::cautions(report);
    html! {
        section {
            h2 { "Cautions" }
            @if !cautions.is_empty() {
                ul { @for caution in cautions { li { (caution) } } }
            }
            p { strong { (COMES_FIRST) " " (GENERIC) } }
        }
    }
}

fn foot(tell: Tell<'_>, report: &Report, made_by: &str) -> Markup {
    html! {
        h2 #basis { "How this was calculated" }
        ul { @for line in tell.basis(report) { li { (line) } } }
        p { (tell.made(report, made_by)) }
    }
}

/// A moment with what machines read.
fn time(moment: Moment, text: &str) -> Markup {
    html! { time datetime=(rfc3339(moment)) { (text) } }
}

#[cfg(test)]
mod tests;
