//! Amounts in words: the same sentences for the command, the status and the page on the screen.

mod alternatives;
mod batch;
mod film;
mod planned;
mod quantity;
mod stock;

use crate::app::wording::Words;
use crate::engine::amounts::Material;
use crate::engine::job::Amount;

/// A page of sentences under a title.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AmountsPage {
    /// Its subject.
    pub title: String,
    /// The area, if it is about one.
    pub area: Option<String>,
    /// Its lines.
    pub lines: Vec<PageLine>,
}

/// One line of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageLine {
    /// Indentation below its heading.
    pub indent: u16,
    /// What it says.
    pub text: String,
    /// Whether it is a heading.
    pub head: bool,
}

impl AmountsPage {
    fn of(title: String) -> Self {
        Self { title, area: None, lines: Vec::new() }
    }

    fn head(&mut self, text: impl Into<String>) {
        self.lines.push(PageLine { indent: 0, text: text.into(), head: true });
    }

    fn say(&mut self, indent: u16, text: impl Into<String>) {
        self.lines.push(PageLine { indent, text: text.into(), head: false });
    }
}

impl Words {
    /// "525 g (521 mL)" for a weighed amount, "521 mL (485 g)" for a poured one.
    fn material(&self, amount: Material, weighed: bool) -> String {
        let mass = amount.mass.map(|mass| self.units.mass(mass));
        let volume = amount.volume.map(|volume| self.units.volume(volume));
        match (mass, volume) {
            (Some(mass), Some(volume)) if weighed => format!("{mass} ({volume})"),
            (Some(mass), Some(volume)) => format!("{volume} ({mass})"),
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => "an unknown amount".into(),
        }
    }
}

/// An amount as a person types it: "2kg", "750ml".
fn typed(amount: Amount) -> String {
    let (value, [small, large]) = match amount {
        Amount::MassG(mass) => (mass.grams(), ["g", "kg"]),
        Amount::VolumeMl(volume) => (volume.millilitres(), ["ml", "L"]),
    };
    let (value, unit) = if value >= 1000.0 { (value / 1000.0, large) } else { (value, small) };
    let text = format!("{value:.3}");
    format!("{}{unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

/// "1 coat", "2 coats".
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// "a", "a and b", "a, b and c".
pub fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}
