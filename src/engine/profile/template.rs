//! A profile to begin with: one that is commented line by line, and one made from answers.
//!
//! The questions are data, so that whoever has a terminal can ask them. This file has none.

use super::product::{Product, Stage};
use crate::engine::units::clean;

mod questions;

pub use questions::{Answers, Question, questions};

/// A profile with every line explained. Lines that begin with `#` and no space behind it are valid
/// once that `#` is taken away.
pub fn template(id: &str) -> String {
    include_str!("template/profile.toml").replace("{id}", id)
}

/// What the template says its figures rest on.
const EXAMPLE: &str = "example figures, not those of a product";

/// What has to be said of a sound profile that still holds the figures of the template.
pub fn unfilled(product: &Product) -> Option<&'static str> {
    (product.basis == EXAMPLE).then_some(
        "Its figures are still examples: replace them with those of the data sheet, and say so in `basis`.",
    )
}

/// An id made from a name: "Two-part varnish!" becomes "two-part-varnish".
pub fn id_from(name: &str) -> String {
    let name = name.to_lowercase();
    let words: Vec<&str> =
        name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    if words.is_empty() { "my-product".into() } else { words.join("-") }
}

/// A profile from answers. Answers that are each right may still contradict each other, so it is to be
/// read like any other file.
pub fn fill(id: &str, answers: &Answers) -> String {
    let or = |question, otherwise| quoted(answers.get(question).unwrap_or(otherwise));
    let mut text = format!(
        "# Made from answers. \"curewright profile new\" shows all further keys.\n\
         schema = 1\n\
         id = {}\n\
         name = {}\n\
         family = {}\n\
         cure = {}\n\
         basis = \"copied from a data sheet by its user\"\n\n[application]\n",
        quoted(id),
        or(Question::Name, id),
        or(Question::Family, id),
        or(Question::Cure, "reaction"),
    );
    let air = [(Question::Coolest, "10"), (Question::Warmest, "30")];
    if air.iter().any(|(question, _)| answers.get(*question).is_none()) {
        text += "# Assumed where it was not answered: 10 to 30 °C. Look it up.\n";
    }
    let air = air.map(|(question, usual)| answers.get(question).unwrap_or(usual));
    text += &format!("air = [{}]\n", air.join(", "));

    let stages = [Stage::TackFree, Stage::Sandable, Stage::FullCure];
    let stages: String = stages.iter().filter_map(|stage| table(stage.key(), *stage, answers)).collect();
    if !stages.is_empty() {
        text += &format!("\n[stages]\n{stages}");
    }
    if let Some(open) = table("open", Stage::RecoatOpen, answers) {
        let family = answers.get(Question::Family).unwrap_or(id);
        let next = answers.get(Question::Next).unwrap_or(family);
        let next: Vec<String> =
            next.split(',').map(str::trim).filter(|n| !n.is_empty()).map(quoted).collect();
        let close = table("close", Stage::RecoatClose, answers).unwrap_or_default();
        text += &format!("\n[[recoat]]\nnext = [{}]\n{open}{close}", next.join(", "));
    }
    text
}

/// A line with the times of a stage, the coolest first.
fn table(key: &str, stage: Stage, answers: &Answers) -> Option<String> {
    let at_20 = answers.get(Question::At20(stage))?;
    let at_10 = answers.get(Question::At10(stage));
    let cool = at_10.map(|time| format!("{{ at = 10, time = {} }}, ", quoted(time))).unwrap_or_default();
    Some(format!("{key} = [{cool}{{ at = 20, time = {} }}]\n", quoted(at_20)))
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", clean(text).replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::{Origin, fault_report, read_profile};

    fn sound(text: &str) -> bool {
        let read = read_profile(text, Origin::BuiltIn);
        read.map_err(|faults| panic!("{}\n{text}", fault_report(&faults, text))).is_ok()
    }

    fn is_option(line: &str) -> bool {
        line.strip_prefix('#').is_some_and(|rest| !rest.is_empty() && !rest.starts_with(' '))
    }

    fn with_options(wanted: impl Fn(usize) -> bool) -> String {
        let template = template("mine");
        let lines = template.lines().enumerate();
        let lines =
            lines.map(|(index, line)| if is_option(line) && wanted(index) { &line[1..] } else { line });
        lines.map(|line| format!("{line}\n")).collect()
    }

    #[test]
    fn the_template_is_a_sound_profile() {
        assert!(sound(&template("mine")));
        assert!(template("mine").contains("id = \"mine\""));
    }

    #[test]
    fn every_commented_line_of_the_template_is_valid_once_uncommented() {
        assert!(sound(&with_options(|_| true)));
        let template = template("mine");
        let lines: Vec<&str> = template.lines().collect();
        let heading = lines.iter().position(|line| line.starts_with("#[[")).unwrap();
        let options: Vec<usize> = (0..lines.len()).filter(|index| is_option(lines[*index])).collect();
        assert!(options.len() > 15);
        for option in options {
            // The keys below a commented heading come and go with it.
            let together = |index: usize| index == option || (option >= heading && index >= heading);
            assert!(sound(&with_options(together)));
        }
    }

    #[test]
    fn two_pot_lives_can_be_written_as_the_template_says() {
        let text = template("mine").replacen("\n[pot_life]", "\n[[pot_life]]", 1);
        let block = ["# [[pot_life]]", "# mass = \"1 kg\"", "# times = [{ at = 10"];
        let text: String = text
            .lines()
            .map(|line| if block.iter().any(|b| line.starts_with(b)) { &line[2..] } else { line })
            .map(|line| format!("{line}\n"))
            .collect();
        let product = read_profile(&text, Origin::BuiltIn).unwrap();
        assert_eq!(product.pot_life.len(), 2);
    }

    #[test]
    fn an_id_comes_from_a_name() {
        assert_eq!(id_from("Two-part Varnish (clear)"), "two-part-varnish-clear");
        assert_eq!(id_from("…"), "my-product");
    }
}
