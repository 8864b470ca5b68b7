//! The tables of the piece as a whole: hours, materials, products, method.

use chrono::TimeDelta;

use super::Tell;
use crate::app::report::facts::{AreaReport, CoatReport, Report};
use crate::engine::job::{IN_ONE_GO, Source, Stretch};
use crate::engine::profile::{Origin, Product};
use crate::engine::units::{clean, duration_text, hours_text};

/// What else ends every report.
pub const GENERIC: &str = "The profiles that are built in are generic classes of products.";

impl Tell<'_> {
    /// The head of the table of hours.
    pub const HOURS_HEAD: [&'static str; 4] = ["Area", "worked", "the scheme so far", "the scheme in all"];
    /// The head of the table of materials.
    pub const MONEY_HEAD: [&'static str; 5] = ["Date", "Product", "Amount", "Lot", "Price"];
    /// The head of the table of products.
    pub const PRODUCTS_HEAD: [&'static str; 4] = ["Product", "Name", "Limits", "The figures are"];

    /// A sentence over the whole: when, how many coats.
    pub fn lead(&self, report: &Report) -> String {
        let coats = report.coats().count();
        let Some((first, last)) = report.span() else {
            return format!("No coat is recorded up to {}.", self.stamp(report.at));
        };
        let (areas, coats) = (plural(report.areas.len(), "area"), plural(coats, "coat"));
        let days = self.between_days(first, last);
        format!("{coats} on {areas}, {days}. As recorded up to {}.", self.stamp(report.at))
    }

    /// Who, what and where; empty where that is to be filled in by hand.
    pub fn head(report: &Report) -> Vec<(&'static str, String)> {
        let given = |text: &Option<String>| text.as_deref().map(clean).unwrap_or_default();
        let head = &report.head;
        vec![
            ("Object", given(&report.piece)),
            ("Owner", given(&head.owner)),
            ("Place", given(&head.place)),
            ("Applied by", given(&head.applied_by)),
            ("Instruments", given(&head.instruments)),
            ("Data sheets", String::new()),
            ("Date and signature", String::new()),
        ]
    }

    fn between_days(
        &self,
        first: crate::engine::units::Moment,
        last: crate::engine::units::Moment,
    ) -> String {
        let (from, to) = (self.day(first), self.day(last));
        if from == to { from } else { format!("{from} to {to}") }
    }

    /// Where nothing was outside the limits; it says on what that rests.
    pub fn no_findings(report: &Report) -> &'static str {
        if report.coats().next().is_none() {
            "No coat yet."
        } else if report.coats().all(|(_, coat)| coat.calculated.as_ref().is_none_or(|r| r.air.is_none())) {
            "There are no readings from the time when a film was wet: nothing can be checked."
        } else {
            "Everything recorded is within the limits of the profiles."
        }
    }

    /// Where an area stands and how large it is.
    pub fn area(&self, area: &AreaReport) -> String {
        let size = area.size.map(|size| format!(", {}", self.words().units.area(size))).unwrap_or_default();
        let done = area.coats.len();
        let coats = match area.planned {
            Some(planned) => format!("{done} of {} done", plural(planned, "planned coat")),
            None => plural(done, "coat"),
        };
        let now = area.now.as_ref().filter(|ribbon| !ribbon.head.is_empty());
        let now = now.map(|ribbon| format!(" Now: {}.", ribbon.head));
        let place = clean(&area.place);
        format!("Place: {place}{size}; {coats}.{}", now.unwrap_or_default())
    }

    /// What is to be known of a coat beside its figures: a name and a value each.
    pub fn facts(&self, coat: &CoatReport) -> Vec<(&'static str, String)> {
        let mut facts = vec![("Product", clean(&coat.product))];
        facts.extend((!coat.lots.is_empty()).then(|| ("Lot", clean(&coat.lots.join(", ")))));
        facts.extend(coat.batch.as_ref().map(|batch| ("Batch", self.batch(batch))));
        facts.push(("Applied", self.strokes(coat)));
        if !coat.films.is_empty() {
            let films: Vec<String> = coat.films.iter().map(|film| self.film(film)).collect();
            facts.push(("Wet film", films.join("; ")));
        }
        if let Some(dry) = coat.dry {
            let basis = if coat.films.is_empty() { ", as the product specifies" } else { "" };
            facts.push(("Dry film", format!("{}{basis}", self.words().units.film(dry))));
        }
        facts.extend(self.scheme(coat).map(|scheme| ("Scheme", scheme)));
        facts.extend(coat.off.as_ref().map(|off| ("Taken off", self.taken_off(off))));
        if coat.calculated.is_none() {
            facts.push(("Calculated", "nothing: the product is unknown here".into()));
        }
        facts
    }

    /// The rows of the table of hours; the last one is the sum.
    pub fn hours(report: &Report) -> Vec<[String; 4]> {
        let hours = &report.hours;
        let perhaps = |time: Option<TimeDelta>| time.map_or_else(|| "–".into(), hours_text);
        let mut rows: Vec<[String; 4]> = hours
            .areas
            .iter()
            .map(|area| {
                let (so_far, all) = (perhaps(area.planned_so_far), perhaps(area.planned));
                [clean(&area.area), hours_text(area.worked), so_far, all]
            })
            .collect();
        if hours.elsewhere > TimeDelta::zero() {
            rows.push(["no area named".into(), hours_text(hours.elsewhere), "–".into(), "–".into()]);
        }
        let (so_far, all) = (perhaps(hours.planned_so_far), perhaps(hours.planned));
        rows.push(["In all".into(), hours_text(hours.worked), so_far, all]);
        rows
    }

    /// How hours are counted.
    pub fn hours_basis() -> String {
        format!(
            "Hours are those of the work clock and those entered; where neither was, a step counts with its minutes \
             and a coat from its first stroke to its last. No minute counts twice; what would be longer than {} in one \
             go is not counted.",
            duration_text(IN_ONE_GO)
        )
    }

    /// The rows of the table of materials.
    pub fn purchases(&self, report: &Report) -> Vec<[String; 5]> {
        let row = |bought: &crate::engine::assess::Purchase| {
            let price = bought.price.map_or_else(|| "–".into(), Self::money);
            let lot = bought.lot.as_ref().map_or_else(|| "–".into(), |lot| clean(lot));
            [self.day(bought.at), clean(&bought.product), self.amount(bought.amount), lot, price]
        };
        report.money.purchases.iter().map(row).collect()
    }

    /// What was paid.
    pub fn paid(report: &Report) -> String {
        let money = &report.money;
        let without = match money.unpriced {
            0 => String::new(),
            1 => " One has no price.".into(),
            count => format!(" {count} have no price."),
        };
        match money.paid {
            Some(paid) => format!("In all {}.{without}", Self::money(paid)),
            None => "No price is recorded.".into(),
        }
    }

    /// A row of the table of products.
    pub fn product(&self, product: &Product) -> [String; 4] {
        let basis = match &product.origin {
            Origin::BuiltIn => format!("built in: {}", product.basis),
            Origin::File(_) => format!("your own: {}", product.basis),
        };
        [product.id.clone(), product.name.clone(), self.limits(product), basis]
    }

    /// What can hurt with the products that were used, each once.
    pub fn cautions(report: &Report) -> Vec<String> {
        let mut cautions: Vec<String> = Vec::new();
        for caution in report.products.iter().flat_map(|product| &product.cautions) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
        cautions
    }

    /// How it was calculated, in sentences.
    pub fn basis(&self, report: &Report) -> Vec<String> {
        let mut basis = vec![
            "Times follow the temperatures of the place: between the points of a data sheet ln(time) is linear in 1/T \
             (Arrhenius). Earliest and latest are calculated with every temperature raised and lowered by its error."
                .to_owned(),
            format!(
                "The error of the thermometer is {}; that of assumed temperatures can be larger.",
                self.kelvin(report.thermometer_error)
            ),
            "A surface that was not measured follows the air with the lag of its area; the dew point is by the formula \
             of WMO-No. 8. A film counts as wet until it is tack-free at its latest, or until the next stage that its \
             profile gives."
                .to_owned(),
            "Rain is from the last forecast; it is not measured.".to_owned(),
        ];
        if report.struck > 0 {
            basis.push(format!(
                "{} taken back or corrected; the record keeps them, struck through.",
                match report.struck {
                    1 => "One entry was".to_owned(),
                    count => format!("{count} entries were"),
                }
            ));
        }
        basis
    }

    /// Who made the report, and when for.
    pub fn made(&self, report: &Report, made_by: &str) -> String {
        format!("Made by {made_by} as of {}.", self.stamp(report.at))
    }

    /// What took too long to be true.
    pub fn doubt(&self, stretch: &Stretch) -> String {
        let what = match stretch.source {
            Source::Strokes => "the strokes of a coat",
            _ => "the work clock",
        };
        let area = stretch.area.as_ref().map(|area| format!(" on {}", clean(area))).unwrap_or_default();
        let long = hours_text(stretch.length());
        format!("Not counted: {what}{area}, {}, {long}: not plausible, too long.", self.stamp(stretch.from))
    }

    /// What a product may be applied in.
    pub fn limits(&self, product: &Product) -> String {
        let allowed = &product.application;
        let mut limits =
            vec![format!("air {} … {}", self.celsius(allowed.coolest), self.celsius(allowed.warmest))];
        limits.extend(allowed.humidity_max.map(|most| format!("humidity up to {most}")));
        limits.push(format!("surface {} above the dew point", self.kelvin(allowed.dew_margin)));
        limits.extend(allowed.stall_below.map(|limit| format!("no cure below {}", self.celsius(limit))));
        if let Some((thin, thick)) = product.film.as_ref().and_then(|film| film.wet) {
            let film = |value| self.words.units.film(value);
            limits.push(format!("wet film {} … {}", film(thin), film(thick)));
        }
        limits.join(", ")
    }
}

fn plural(count: usize, what: &str) -> String {
    match count {
        1 => format!("one {what}"),
        count => format!("{count} {what}s"),
    }
}
