//! The report as a Markdown text: the same words as the page, without its drawings.

use std::fmt::Write;

use super::escape::markdown as plain;
use super::facts::{AreaReport, CoatReport, Report};
use super::text::{GENERIC, Tell};
use crate::app::wording::Words;
use crate::engine::profile::COMES_FIRST;
use crate::engine::units::capital;

/// What every text begins with, and no text of anybody else's: it may be replaced. It does not show.
pub const TEXT_MARK: &str = "<!-- curewright ";

/// Writes a report as Markdown. `made_by` names the program.
pub fn markdown(report: &Report, words: &Words, made_by: &str) -> String {
    let mut text = Text { out: String::new(), tell: Tell::new(words) };
    text.block(&format!("<!-- {made_by} -->"));
    text.head(report);
    text.findings(report);
    report.areas.iter().for_each(|area| text.area(area));
    text.hours(report);
    text.money(report);
    text.batches(report);
    text.notes(report);
    text.products(report);
    text.cautions(report);
    text.foot(report, made_by);
    text.out
}

struct Text<'a> {
    out: String,
    tell: Tell<'a>,
}

impl Text<'_> {
    /// A block with an empty line after it. Into memory nothing fails.
    fn block(&mut self, text: &str) {
        let _ = write!(self.out, "{text}\n\n");
    }

    fn list(&mut self, items: impl IntoIterator<Item = String>) {
        let before = self.out.len();
        for item in items {
            let _ = writeln!(self.out, "- {}", plain(&item));
        }
        if self.out.len() > before {
            self.out.push('\n');
        }
    }

    fn table(&mut self, head: &[&str], rows: impl IntoIterator<Item = Vec<String>>) {
        let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
        self.out += &line(head.iter().map(|cell| (*cell).to_owned()).collect());
        self.out += &line(head.iter().map(|_| "---".to_owned()).collect());
        for row in rows {
            self.out += &line(row.iter().map(|cell| plain(cell)).collect());
        }
        self.out.push('\n');
    }

    fn head(&mut self, report: &Report) {
        self.block(&format!("# {}", plain(&Tell::title(report))));
        self.block(&plain(&self.tell.lead(report)));
        let head = Tell::head(report).into_iter();
        self.table(
            &["", ""],
            head.map(|(what, given)| {
                let given = if given.is_empty() { "…………………………".into() } else { given };
                vec![what.to_owned(), given]
            }),
        );
    }

    fn findings(&mut self, report: &Report) {
        self.block("## Outside the data sheets' limits");
        let lines: Vec<String> = report
            .findings()
            .map(|(area, coat, finding)| {
                format!("{}, coat {}: {}", area.name, coat.layer, self.tell.finding(finding))
            })
            .collect();
        if lines.is_empty() {
            self.block(&plain(Tell::no_findings(report)));
        }
        self.list(lines);
    }

    fn area(&mut self, area: &AreaReport) {
        self.block(&format!("## {}", plain(&capital(&area.name))));
        self.block(&plain(&self.tell.area(area)));
        self.list(area.before.iter().map(|step| self.tell.step(step)).collect::<Vec<_>>());
        for coat in &area.coats {
            self.coat(coat);
        }
        for coat in &area.stripped {
            self.coat(coat);
        }
        self.list(area.notes.iter().map(|note| self.tell.note(note)).collect::<Vec<_>>());
    }

    fn coat(&mut self, coat: &CoatReport) {
        self.block(&format!("### {}", plain(&Tell::coat(coat))));
        self.list(self.tell.facts(coat).into_iter().map(|(name, value)| format!("{name}: {value}")));
        if let Some(calculated) = &coat.calculated {
            if let Some(air) = &calculated.air {
                let rows = self.tell.figures(air);
                self.table(&["While wet", "lowest", "mean", "highest"], rows.into_iter().map(Vec::from));
                self.block(&plain(&self.tell.read(air)));
            }
            let stages = calculated.stages.iter().map(|(stage, times)| {
                std::iter::once(Tell::stage(*stage)).chain(self.tell.moments(times)).collect()
            });
            let stages: Vec<Vec<String>> = stages.collect();
            if !stages.is_empty() {
                self.table(&["Stage", "earliest", "calculated", "latest"], stages);
            }
        }
        let tell = self.tell;
        let outside =
            coat.findings.iter().map(|found| format!("Outside the limits: {}", tell.finding(found)));
        let assumed = coat.calculated.iter().flat_map(|calculated| &calculated.assumed);
        let assumed = assumed.map(|assumed| format!("Assumed: {}", tell.assumption(assumed)));
        let steps = coat.steps.iter().map(|step| format!("Then: {}", tell.step(step)));
        let notes = coat.notes.iter().map(|note| format!("Note, {}", tell.note(note)));
        self.list(outside.chain(assumed).chain(steps).chain(notes).collect::<Vec<_>>());
    }

    fn hours(&mut self, report: &Report) {
        self.block("## Hours");
        self.table(&Tell::HOURS_HEAD, Tell::hours(report).into_iter().map(Vec::from));
        self.block(&plain(&Tell::hours_basis()));
        self.list(report.hours.doubtful.iter().map(|doubt| self.tell.doubt(doubt)).collect::<Vec<_>>());
    }

    fn money(&mut self, report: &Report) {
        self.block("## Materials");
        if report.money.purchases.is_empty() {
            self.block("No material is recorded.");
            return;
        }
        self.table(&Tell::MONEY_HEAD, self.tell.purchases(report).into_iter().map(Vec::from));
        self.block(&plain(&Tell::paid(report)));
        if let Some(costs) = self.tell.words().costs(&report.money.costs) {
            self.block(&plain(&costs));
        }
    }

    fn batches(&mut self, report: &Report) {
        if !report.batches.is_empty() {
            self.block("### Batches");
            let batch =
                |batch: &crate::engine::job::Batch| format!("{}: {}", batch.product, self.tell.batch(batch));
            self.list(report.batches.iter().map(batch).collect::<Vec<_>>());
        }
    }

    fn cautions(&mut self, report: &Report) {
        self.block("## Cautions");
        self.list(Tell::cautions(report));
        self.block(&format!("> {} {}", plain(COMES_FIRST), plain(GENERIC)));
    }

    fn notes(&mut self, report: &Report) {
        if !report.notes.is_empty() {
            self.block("## Notes");
            self.list(report.notes.iter().map(|note| self.tell.note(note)).collect::<Vec<_>>());
        }
    }

    fn products(&mut self, report: &Report) {
        if report.products.is_empty() {
            return;
        }
        self.block("## Products and their limits");
        self.table(
            &Tell::PRODUCTS_HEAD,
            report.products.iter().map(|product| self.tell.product(product).into()).collect::<Vec<_>>(),
        );
    }

    fn foot(&mut self, report: &Report, made_by: &str) {
        self.block("## How this was calculated");
        self.list(self.tell.basis(report));
        self.block(&plain(&self.tell.made(report, made_by)));
        self.out.truncate(self.out.trim_end().len());
        self.out.push('\n');
    }
}
