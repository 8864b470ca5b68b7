//! The questions that a profile can be made from, and which answers fit.

use std::collections::BTreeMap;

use chrono::TimeDelta;

use super::fill;
use crate::engine::profile::check::read_profile;
use crate::engine::profile::product::{Cure, Origin, Stage};
use crate::engine::units::{Celsius, TemperatureUnit, Units, clean, parse_duration};

/// One thing to look up in a data sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// What people call the product.
    Name,
    /// Its chemistry.
    Family,
    /// How it hardens.
    Cure,
    /// The coolest air it may be applied in.
    Coolest,
    /// The warmest air it may be applied in.
    Warmest,
    /// The time to a stage at 20 °C.
    At20(Stage),
    /// The time to a stage at 10 °C.
    At10(Stage),
    /// What may follow within the recoat window.
    Next,
}

/// All questions in the order they are asked.
pub fn questions() -> Vec<Question> {
    let mut all =
        vec![Question::Name, Question::Family, Question::Cure, Question::Coolest, Question::Warmest];
    for stage in [Stage::TackFree, Stage::Sandable, Stage::RecoatOpen, Stage::RecoatClose, Stage::FullCure] {
        all.extend([Question::At20(stage), Question::At10(stage)]);
    }
    all.push(Question::Next);
    all
}

impl Question {
    /// The question as it is put.
    pub fn text(self, units: &Units) -> String {
        let unit = match units.temperature {
            TemperatureUnit::Celsius => "°C",
            TemperatureUnit::Fahrenheit => "°F",
        };
        let at = |degrees: f64| match units.temperature {
            TemperatureUnit::Celsius => format!("{degrees} °C"),
            TemperatureUnit::Fahrenheit => format!("{} °F", Celsius::new(degrees).fahrenheit()),
        };
        match self {
            Self::Name => "Name of the product".into(),
            Self::Family => "Chemistry (epoxy, polyurethane, alkyd, water-borne, oil …)".into(),
            Self::Cure => "How it hardens (reaction, drying or moisture)".into(),
            Self::Coolest => format!("Coolest air it may be applied in, {unit}"),
            Self::Warmest => format!("Warmest air it may be applied in, {unit}"),
            Self::At20(stage) => format!("{} at {}", time_of(stage), at(20.0)),
            Self::At10(stage) => format!("{} at {}, if known", time_of(stage), at(10.0)),
            Self::Next => "What can follow in the window: ids or families, with commas".into(),
        }
    }

    /// Whether there is no profile without an answer.
    pub const fn is_required(self) -> bool {
        matches!(self, Self::Name | Self::Family | Self::Cure)
    }
}

fn time_of(stage: Stage) -> &'static str {
    match stage {
        Stage::RecoatOpen => "Next coat not before",
        Stage::RecoatClose => "Next coat not after",
        Stage::TackFree => "Tack-free after",
        Stage::TapeBy => "Tape off by",
        Stage::Sandable => "Sandable after",
        Stage::Handle => "Dry to handle after",
        Stage::FullCure => "Full cure after",
    }
}

/// What has been answered so far.
#[derive(Debug, Clone, Default)]
pub struct Answers(BTreeMap<Question, String>);

impl Answers {
    /// The answer to a question, as it goes into the file.
    pub fn get(&self, question: Question) -> Option<&str> {
        self.0.get(&question).map(String::as_str)
    }

    /// Whether a question makes sense after the answers so far.
    pub fn lead_to(&self, question: Question) -> bool {
        let given = |question| self.0.contains_key(&question);
        match question {
            Question::At10(stage) => given(Question::At20(stage)),
            Question::At20(Stage::RecoatClose) | Question::Next => given(Question::At20(Stage::RecoatOpen)),
            _ => true,
        }
    }

    /// Takes an answer; an empty one skips the question.
    ///
    /// # Errors
    /// Why it cannot be: it is no such thing, or contradicts an earlier answer.
    pub fn give(&mut self, question: Question, answer: &str, units: &Units) -> Result<(), String> {
        let answer = clean(answer).trim().to_owned();
        if answer.is_empty() {
            return if question.is_required() { Err("a profile needs it".into()) } else { Ok(()) };
        }
        let answer = understood(question, answer, units)?;
        let mut answers = self.clone();
        answers.0.insert(question, answer.clone());
        answers.agree_after(question)?;
        self.0.insert(question, answer);
        Ok(())
    }

    /// Reads the answers as a profile. The times at 10 °C of a stage may be yet to come, and then its
    /// line over the temperature is a guess: so lines are compared only with lines of their own kind.
    fn agree_after(&self, question: Question) -> Result<(), String> {
        let mut known = self.clone();
        match question {
            Question::At20(_) => known.0.retain(|question, _| !matches!(question, Question::At10(_))),
            Question::At10(_) => known.0.retain(|question, _| match question {
                Question::At20(stage) => self.0.contains_key(&Question::At10(*stage)),
                _ => true,
            }),
            _ => {}
        }
        let first = |faults: Vec<crate::engine::profile::Fault>| faults.into_iter().next();
        match read_profile(&fill("my-product", &known), Origin::BuiltIn).map_err(first) {
            Err(Some(fault)) => Err(format!("{}; {}", fault.what, fault.mend)),
            Err(None) | Ok(_) => Ok(()),
        }
    }
}

/// The answer as the file writes it.
fn understood(question: Question, answer: String, units: &Units) -> Result<String, String> {
    match question {
        Question::Name | Question::Family | Question::Next => Ok(answer),
        Question::Cure => {
            let word = answer.to_lowercase();
            let known = Cure::ALL.iter().any(|cure| cure.key() == word);
            if known { Ok(word) } else { Err("answer reaction, drying or moisture".into()) }
        }
        Question::Coolest | Question::Warmest => {
            let at = Celsius::parse(&answer, units.temperature).map_err(|error| error.to_string())?;
            Ok(((at.degrees() * 100.0).round() / 100.0).to_string())
        }
        Question::At20(_) | Question::At10(_) => match parse_duration(&answer) {
            Ok(time) if time > TimeDelta::zero() => Ok(answer),
            Ok(_) => Err("a time must be more than zero".into()),
            Err(error) => Err(error.to_string()),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::profile::Product;

    fn answered(given: &[(Question, &str)]) -> Result<Product, String> {
        let units = Units::default();
        let mut answers = Answers::default();
        for (question, answer) in given {
            answers.give(*question, answer, &units)?;
        }
        read_profile(&fill("mine", &answers), Origin::BuiltIn).map_err(|faults| faults[0].to_string())
    }

    const BASICS: [(Question, &str); 3] = [
        (Question::Name, "The \"best\" \\ varnish"),
        (Question::Family, "polyurethane"),
        (Question::Cure, "Reaction"),
    ];

    fn with(times: &[(Question, &str)]) -> Result<Product, String> {
        answered(&[&BASICS, times].concat())
    }

    #[test]
    fn three_answers_make_a_profile() {
        let product = with(&[]).unwrap();
        assert_eq!(product.name, "The \"best\" \\ varnish");
        assert!(product.recoat.is_empty() && product.stages.is_empty());
    }

    #[test]
    fn all_answers_make_a_profile_with_its_window() {
        let product = with(&[
            (Question::Coolest, "46.4F"),
            (Question::Warmest, "30"),
            (Question::At20(Stage::TackFree), "4 h"),
            (Question::At10(Stage::TackFree), "8 h"),
            (Question::At20(Stage::Sandable), "16 h"),
            (Question::At20(Stage::RecoatOpen), "2 h"),
            (Question::At10(Stage::RecoatOpen), "4 h"),
            (Question::At20(Stage::RecoatClose), "10 h"),
            (Question::At10(Stage::RecoatClose), "20 h"),
            (Question::At20(Stage::FullCure), "7 d"),
            (Question::Next, "polyurethane, my-primer"),
        ])
        .unwrap();
        assert_eq!(product.application.coolest, Celsius::new(8.0));
        assert_eq!(product.recoat[0].next, ["polyurethane", "my-primer"]);
        assert_eq!(product.recoat[0].close.as_ref().unwrap().points().len(), 2);
        assert_eq!(product.stages.len(), 3);
    }

    #[test]
    fn an_answer_that_contradicts_an_earlier_one_is_refused() {
        let open = (Question::At20(Stage::RecoatOpen), "4 h");
        let error = with(&[open, (Question::At20(Stage::RecoatClose), "2 h")]).unwrap_err();
        assert!(error.contains("opens after"), "{error}");
        let error = with(&[open, (Question::At10(Stage::RecoatOpen), "2 h")]).unwrap_err();
        assert!(error.contains("a time must not grow with temperature"), "{error}");
        assert!(with(&[(Question::Coolest, "20"), (Question::Warmest, "10")]).is_err());
        assert!(with(&[(Question::At20(Stage::FullCure), "0 h")]).is_err());
        assert!(with(&[(Question::At20(Stage::FullCure), "7")]).is_err());
    }

    #[test]
    fn a_steep_time_waits_for_its_partner_before_it_is_judged() {
        let steep = [
            (Question::At20(Stage::RecoatOpen), "2 h"),
            (Question::At10(Stage::RecoatOpen), "12 h"),
            (Question::At20(Stage::RecoatClose), "4 h"),
            (Question::At10(Stage::RecoatClose), "24 h"),
        ];
        assert!(with(&steep).is_ok());
    }

    #[test]
    fn what_is_needed_cannot_be_skipped() {
        let mut answers = Answers::default();
        assert!(answers.give(Question::Name, " \u{7} ", &Units::default()).is_err());
        assert!(answers.give(Question::Coolest, "", &Units::default()).is_ok());
    }

    #[test]
    fn questions_without_ground_are_not_asked() {
        let mut answers = Answers::default();
        assert!(!answers.lead_to(Question::At10(Stage::TackFree)));
        assert!(!answers.lead_to(Question::At20(Stage::RecoatClose)));
        answers.give(Question::At20(Stage::RecoatOpen), "2 h", &Units::default()).unwrap();
        assert!(answers.lead_to(Question::At20(Stage::RecoatClose)) && answers.lead_to(Question::Next));
    }
}
