//! The board as a page for a phone in the shop: one file that is written again while `watch` runs.
//!
//! It holds what was true when it was written. Its script counts down, and marks the page as old where nobody wrote it
//! again; without a script each verdict still carries its time.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::app::view::{AirLine, PotRibbon, Ribbon, View};
use crate::app::wording::Countdown;
use crate::engine::profile::COMES_FIRST;
use crate::engine::units::{Moment, capital, clean, rfc3339};

const STYLE: &str = include_str!("shop_page/style.css");
const SCRIPT: &str = include_str!("shop_page/count.js");
/// Nothing is fetched, and nothing that was typed is run: the template escapes it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'";

/// Writes a view as a page. `made_by` names the program.
pub fn shop_page(view: &View, made_by: &str) -> String {
    let title = view.piece.as_deref().map_or_else(|| "Curewright".to_owned(), clean);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                // The mark by which a page of this program is known: see `PAGE_MARK`.
                meta name="generator" content=(made_by);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta http-equiv="refresh" content="60";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    p #age data-at=(rfc3339(view.now)) { "As of " (view.clock) }
                    p #old hidden { "This page is old. Look at the board, or see whether curewright still runs." }
                }
                main {
                    @for banner in &view.banners { p.alert { (clean(&banner.text)) } }
                    (next(view))
                    @for pot in &view.pots { (batch(pot, view.now)) }
                    @for area in &view.ribbons { (self::area(area, view)) }
                    @for air in &view.air { (self::air(air)) }
                }
                footer { p { (COMES_FIRST) } p { "Nothing can be entered here." } }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

fn next(view: &View) -> Markup {
    let area =
        view.next.area.as_deref().map(|area| format!("{}: ", capital(&clean(area)))).unwrap_or_default();
    html! {
        section.next {
            h2 { "Next" }
            p.verdict { (area) (view.next.head) }
            p { (clean(&view.next.says)) }
            (countdown(view.next.countdown.as_ref(), view.now))
        }
    }
}

fn area(area: &Ribbon, view: &View) -> Markup {
    html! {
        section {
            h2 { (capital(&clean(&area.area))) }
            p.verdict { (area.head) }
            p.of { "as of " (view.clock) @if !area.layer.is_empty() { " · " (clean(&area.layer)) } }
            p { (clean(&area.says)) }
            (countdown(area.countdown.as_ref(), view.now))
            @if !area.range.is_empty() { p.quiet { (area.range) } }
            @for line in &area.film { p.quiet { (clean(line)) } }
            @for assumed in &area.assumed { p.quiet { "assumed: " (clean(assumed)) } }
        }
    }
}

fn batch(pot: &PotRibbon, now: Moment) -> Markup {
    html! {
        section.alert[pot.hot] {
            h2 { "Mixed: " (clean(&pot.product)) ", " (pot.mass) }
            p { (clean(&pot.says)) }
            (countdown(pot.countdown.as_ref(), now))
            p.quiet { (pot.range) }
            @for assumed in &pot.assumed { p.quiet { "assumed: " (clean(assumed)) } }
        }
    }
}

fn air(air: &AirLine) -> Markup {
    html! {
        section {
            h2 { (capital(&air.place)) }
            @if !air.figures.is_empty() { p { (air.figures.join(", ")) } }
            p.quiet.alarm[air.old] { (air.age) }
            @for says in [&air.film.full, &air.coat.full] {
                @if !says.is_empty() { p { (clean(says)) } }
            }
        }
    }
}

/// A countdown as it stood when the page was written; the script follows it.
fn countdown(countdown: Option<&Countdown>, now: Moment) -> Markup {
    html! {
        @if let Some(countdown) = countdown {
            p.count { span data-to=(rfc3339(countdown.to)) { (countdown.digits(now)) } " " (countdown.label) }
        }
    }
}
