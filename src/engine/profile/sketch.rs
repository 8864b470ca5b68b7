//! A product on one sheet of text: its words, its times over the temperature and what can hurt.
//!
//! It is given a product and a width, and knows no terminal.

use super::product::{Cure, Film, Mix, PotLife, Product, Recoat, Stage};
use super::table::TimeTable;
use crate::engine::units::{Celsius, Grams, MassUnit, TemperatureUnit, Units, capital};

mod figures;

use figures::{figure, plain, wrapped};

/// Said wherever the program gives a figure that someone may rely on.
pub const COMES_FIRST: &str =
    "The product's own data sheet and safety data sheet, local rules and licensed practice come first.";

/// The temperatures of the table, in °C; where there is no room for all, every second.
const TEMPERATURES: [f64; 6] = [5.0, 10.0, 15.0, 20.0, 25.0, 30.0];

/// How wide a column of times is.
const COLUMN: usize = 9;

/// What `profile show` prints, for a terminal of this many columns.
pub fn sheet(product: &Product, units: &Units, width: u16) -> String {
    let width = usize::from(width).clamp(40, 100);
    let mut sheet = Sheet { product, units, width, columns: Vec::new(), text: String::new() };
    sheet.head();
    sheet.facts();
    sheet.times();
    sheet.rules();
    sheet.cautions();
    sheet.text
}

struct Sheet<'p> {
    product: &'p Product,
    units: &'p Units,
    width: usize,
    columns: Vec<Celsius>,
    text: String,
}

impl Sheet<'_> {
    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// A paragraph, whose later lines stand below the text of the first.
    fn paragraph(&mut self, lead: &str, text: &str) {
        let lines = wrapped(lead, text, self.width);
        self.line(&lines);
    }

    fn head(&mut self) {
        let product = self.product;
        self.paragraph("", &product.name);
        self.paragraph("", &format!("{}, {}", product.id, product.family));
        self.line("");
    }

    fn facts(&mut self) {
        let product = self.product;
        self.paragraph("Basis   ", &product.basis);
        self.paragraph("Cure    ", &cure_in_words(product));
        if let Some(mix) = &product.mix {
            self.paragraph("Mix     ", &mix_in_words(mix));
        }
        let air = self.air_in_words();
        self.paragraph("Air     ", &air);
        if let Some(film) = product.film.as_ref().map(film_in_words).filter(|film| !film.is_empty()) {
            self.paragraph("Film    ", &film);
        }
        if product.seals {
            self.paragraph("Pores   ", "closed by the film: coat bare wood while the temperature falls");
        }
        if let Some(notes) = &product.notes {
            self.paragraph("Notes   ", notes);
        }
        self.line("");
    }

    fn air_in_words(&self) -> String {
        let air = &self.product.application;
        let mut words = format!("{} to {}", self.degrees(air.coolest), self.degrees(air.warmest));
        if let Some(humidity) = air.humidity_max {
            words += &format!(", humidity at most {humidity}");
        }
        if let Some(humidity) = air.humidity_min {
            words += &format!(", humidity at least {humidity}");
        }
        words += &format!(", surface at least {} above the dew point", self.units.difference(air.dew_margin));
        if let Some(stall) = air.stall_below {
            words += &format!("; nothing cures below {}", self.degrees(stall));
        }
        words
    }

    /// A temperature in whole degrees where it is whole: "8 °C", "46.4 °F".
    fn degrees(&self, temperature: Celsius) -> String {
        let (value, unit) = match self.units.temperature {
            TemperatureUnit::Celsius => (temperature.degrees(), "°C"),
            TemperatureUnit::Fahrenheit => (temperature.fahrenheit(), "°F"),
        };
        format!("{} {unit}", plain((value * 10.0).round() / 10.0)).replace('-', "−")
    }

    fn stalls_at(&self, temperature: Celsius) -> bool {
        self.product.application.stall_below.is_some_and(|stall| temperature < stall)
    }

    fn times(&mut self) {
        let product = self.product;
        let mut rows: Vec<Row<'_>> = Vec::new();
        for portion in &product.pot_life {
            rows.push(Row::pot(portion, self.units));
        }
        rows.extend(product.stages.iter().map(|(stage, table)| Row::of(capital(stage.name()), table)));
        for entry in &product.recoat {
            rows.push(Row::title(recoat_in_words(entry)));
            rows.push(Row::of("  opens".into(), &entry.open));
            match &entry.close {
                Some(close) => rows.push(Row::of("  closes".into(), close)),
                None if entry.sand => {}
                None => rows.push(Row::title("  does not close: no upper limit".into())),
            }
        }
        if rows.is_empty() {
            return;
        }
        let label = rows.iter().filter(|row| row.table.is_some()).map(|row| row.label.chars().count()).max();
        let label = label.unwrap_or(0).max(10);
        self.columns = columns((self.width.saturating_sub(label)) / COLUMN);
        let heads: Vec<String> = self.columns.iter().map(|at| self.degrees(*at)).collect();
        self.line(&cells("", label, &heads));
        let mut guessed = false;
        for row in &rows {
            let Some(table) = row.table else {
                let indent = if row.label.starts_with(' ') { "  " } else { "" };
                self.paragraph(indent, &row.label);
                continue;
            };
            let figures: Vec<String> =
                self.columns.iter().map(|at| self.figure(row, table, *at, &mut guessed)).collect();
            self.line(&cells(&row.label, label, &figures));
        }
        for row in &rows {
            for range in row.table.iter().flat_map(|table| table.ranges()) {
                let (shortest, longest) = (figure(range.shortest), figure(range.longest));
                let counted = row.table.map_or_else(String::new, |table| figure(table.time_at(range.at)));
                let (what, at) = (row.label.trim(), self.degrees(range.at));
                self.paragraph("", &format!("{what} at {at}: {shortest} to {longest}, counted as {counted}"));
            }
        }
        if guessed {
            self.line("");
            self.paragraph("~ ", "is outside the temperatures of the basis: an estimate of this program");
        }
        self.line("");
    }

    fn figure(&self, row: &Row<'_>, table: &TimeTable, at: Celsius, guessed: &mut bool) -> String {
        if row.stalls && self.stalls_at(at) {
            return "stalls".into();
        }
        let extrapolated = table.is_extrapolated(at);
        *guessed |= extrapolated;
        format!("{}{}", if extrapolated { "~" } else { "" }, figure(table.time_at(at)))
    }

    /// What stands below the table: what must not follow, and how the times are counted.
    fn rules(&mut self) {
        let product = self.product;
        for never in &product.never {
            let because = &never.because;
            if !never.next.is_empty() {
                let next = list_in_words(&never.next, "anything else");
                self.paragraph("", &format!("Never below {next}: {because}"));
            }
            if !never.over.is_empty() {
                self.paragraph("", &format!("Never on {}: {because}", never.over.join(", ")));
            }
        }
        if product.recoat.is_empty() {
            self.paragraph("", "The profile says nothing about the next coat: see the data sheet");
        }
        let words = "Minimum times count from the last stroke of a coat, maximum times from the first.";
        self.paragraph("", words);
        self.line("");
    }

    fn cautions(&mut self) {
        let product = self.product;
        for caution in &product.cautions {
            self.paragraph("! ", caution);
        }
        self.paragraph("", COMES_FIRST);
    }
}

/// A line of the table of times; a title where it has no times.
struct Row<'p> {
    label: String,
    table: Option<&'p TimeTable>,
    stalls: bool,
}

impl<'p> Row<'p> {
    fn of(label: String, table: &'p TimeTable) -> Self {
        Self { label, table: Some(table), stalls: true }
    }

    /// A batch warms itself: no cold makes a pot last for ever.
    fn pot(portion: &'p PotLife, units: &Units) -> Self {
        let label = format!("Pot life, {}", mass_in_words(portion.mass, units));
        Self { label, table: Some(&portion.times), stalls: false }
    }

    fn title(label: String) -> Self {
        Self { label, table: None, stalls: false }
    }
}

fn cells(label: &str, width: usize, figures: &[String]) -> String {
    let mut line = format!("{label:width$}");
    for figure in figures {
        line += &format!("{figure:>COLUMN$}");
    }
    line
}

fn columns(room: usize) -> Vec<Celsius> {
    let keep = |index: usize| match room {
        6.. => true,
        3..6 => index % 2 == 1,
        _ => index == 3,
    };
    TEMPERATURES.iter().enumerate().filter(|(i, _)| keep(*i)).map(|(_, at)| Celsius::new(*at)).collect()
}

fn recoat_in_words(entry: &Recoat) -> String {
    let mut words = format!("Recoat with {}", list_in_words(&entry.next, "anything"));
    if let Some(stage) = entry.after {
        let reached = if stage == Stage::FullCure { "fully cured" } else { stage.name() };
        words += &format!(", once {reached}");
    }
    words += match (entry.wash, entry.sand) {
        (true, true) => "; wash and sand first",
        (false, true) => "; sand first",
        (true, false) => "; after it closes, wash before sanding",
        (false, false) => "",
    };
    words
}

fn list_in_words(names: &[String], any: &str) -> String {
    names.iter().map(|name| if name == "*" { any } else { name }).collect::<Vec<_>>().join(", ")
}

fn mass_in_words(mass: Grams, units: &Units) -> String {
    match units.mass {
        MassUnit::Grams if mass.grams() >= 1000.0 => format!("{} kg", plain(mass.grams() / 1000.0)),
        MassUnit::Grams => format!("{} g", plain(mass.grams())),
        MassUnit::Ounces => format!("{:.1} oz", mass.grams() / 28.349_523_125),
    }
}

fn cure_in_words(product: &Product) -> String {
    let reference = product.reference_humidity;
    match product.cure {
        Cure::Reaction => "by reaction; faster when warm, independent of humidity".into(),
        Cure::Drying => format!(
            "by drying; faster when warm and dry, slower when humid; times are for {reference} relative humidity"
        ),
        Cure::Moisture => format!(
            "with moisture from the air; warmth and damp air speed it, dry air slows it; \
             times hold at {reference} relative humidity"
        ),
    }
}

fn mix_in_words(mix: &Mix) -> String {
    let ratio = |parts: &[f64]| parts.iter().map(|part| plain(*part)).collect::<Vec<_>>().join(" : ");
    let mut words = mix.names.join(" : ");
    let ratios = [(&mix.by_mass, "by mass"), (&mix.by_volume, "by volume")];
    for (parts, how) in ratios.iter().filter_map(|(parts, how)| Some((parts.as_ref()?, how))) {
        words += &format!(", {} {how}", ratio(parts));
    }
    if let Some(density) = &mix.density {
        let density: Vec<String> = density.iter().map(|d| plain(d.kilograms_per_litre())).collect();
        words += &format!(", density {} kg/L", density.join(" : "));
    }
    if let Some(induction) = mix.induction {
        words += &format!("; let it stand for {} before the first stroke", figure(induction));
    }
    words
}

fn film_in_words(film: &Film) -> String {
    let mut words = Vec::new();
    if let Some(solids) = film.volume_solids {
        words.push(format!("{} % solids by volume", plain(solids.percent())));
    }
    if let Some((thin, thick)) = film.wet {
        let range = |share: f64| {
            let (thin, thick) = ((thin.micrometres() * share).round(), (thick.micrometres() * share).round());
            if thin == thick { plain(thin) } else { format!("{} to {}", plain(thin), plain(thick)) }
        };
        words.push(format!("{} µm wet a coat", range(1.0)));
        if let Some(solids) = film.volume_solids {
            words.push(format!("{} µm dry", range(solids.percent() / 100.0)));
        }
    }
    if let Some(density) = film.density {
        words.push(format!("density {} kg/L", plain(density.kilograms_per_litre())));
    }
    if let Some(coats) = film.wet_on_wet_coats {
        words.push(if coats == 1 {
            "no coat wet on wet".into()
        } else {
            format!("at most {coats} coats wet on wet")
        });
    }
    words.join(", ")
}

#[cfg(test)]
mod tests;
