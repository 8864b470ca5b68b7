//! The tables of the page: hours, materials, products. Each has a caption, and heads for columns and rows.

use maud::{Markup, html};

use crate::app::report::facts::Report;
use crate::app::report::text::Tell;

/// A table. The first cell of a row is its head; with `sum` the last row is a sum.
pub fn table<const N: usize>(caption: &str, head: [&str; N], rows: &[[String; N]], sum: bool) -> Markup {
    let is_sum = |index: usize| sum && index + 1 == rows.len();
    html! {
        // Wider than a phone, it scrolls by itself; so that this can be done by keys, it can be reached by them.
        div.scroll tabindex="0" role="region" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { @for cell in head { th scope="col" { (cell) } } } }
                tbody {
                    @for (index, row) in rows.iter().enumerate() {
                        tr.sum[is_sum(index)] {
                            @for (column, cell) in row.iter().enumerate() {
                                @if column == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The hours, beside the scheme.
pub fn hours(tell: Tell<'_>, report: &Report) -> Markup {
    html! {
        section {
            h2 #hours { "Hours" }
            (table("Work, compared with the scheme", Tell::HOURS_HEAD, &Tell::hours(report), true))
            p.quiet { (Tell::hours_basis()) }
            @if !report.hours.doubtful.is_empty() {
                ul { @for doubt in &report.hours.doubtful { li { (tell.doubt(doubt)) } } }
            }
        }
    }
}

/// What was bought, and what was mixed of it.
pub fn materials(tell: Tell<'_>, report: &Report) -> Markup {
    html! {
        section {
            h2 #materials { "Materials" }
            @if report.money.purchases.is_empty() {
                p { "No material is recorded." }
            } @else {
                (table("What was bought", Tell::MONEY_HEAD, &tell.purchases(report), false))
                p { (Tell::paid(report)) }
                @if let Some(costs) = tell.words().costs(&report.money.costs) { p { (costs) } }
            }
            @if !report.batches.is_empty() {
                h3 { "Batches" }
                ul { @for batch in &report.batches { li { (batch.product) ": " (tell.batch(batch)) } } }
            }
        }
    }
}

/// The products with their limits.
pub fn products(tell: Tell<'_>, report: &Report) -> Markup {
    let rows: Vec<[String; 4]> = report.products.iter().map(|product| tell.product(product)).collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { "Products and their limits" }
                (table("As their profiles say", Tell::PRODUCTS_HEAD, &rows, false))
            }
        }
    }
}
