//! A choice from a list that letters filter.

use super::edit::{Edit, cursor, edit, erase, insert};

/// One choice of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What it stands for.
    pub value: String,
    /// What is said of it.
    pub label: String,
}

/// A choice from a list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pick {
    /// What was typed to filter it.
    pub filter: String,
    /// Whether the person has chosen; until then the choice may follow another field.
    pub touched: bool,
    choices: Vec<Choice>,
    at: Option<usize>,
    /// How many characters of the filter are after the cursor.
    after: usize,
    new: Option<&'static str>,
}

impl Pick {
    /// A choice from a list, with one chosen beforehand.
    pub fn new(choices: Vec<Choice>, chosen: Option<&str>) -> Self {
        let mut pick = Self { choices, ..Self::default() };
        pick.preset(chosen.map(str::to_owned));
        pick
    }

    /// What is typed and not in the list is taken too, and called this.
    pub const fn or_new(mut self, called: &'static str) -> Self {
        self.new = Some(called);
        self
    }

    /// Chooses beforehand.
    pub fn preset(&mut self, value: Option<String>) {
        let Some(value) = value else {
            self.at = None;
            return;
        };
        let at = self.choices.iter().position(|choice| choice.value == value);
        self.at = Some(at.unwrap_or_else(|| {
            self.choices.insert(0, Choice { label: value.clone(), value });
            0
        }));
    }

    /// The choices that are left by the filter, those that begin with it first.
    pub fn left(&self) -> Vec<Choice> {
        let filter = self.filter.trim().to_lowercase();
        if filter.is_empty() {
            return self.choices.clone();
        }
        let begins = |choice: &&Choice| choice.value.to_lowercase().starts_with(&filter);
        let holds = |choice: &&Choice| {
            !begins(choice)
                && (choice.value.to_lowercase().contains(&filter)
                    || choice.label.to_lowercase().contains(&filter))
        };
        let mut left: Vec<Choice> = self.choices.iter().filter(begins).cloned().collect();
        let begun = left.len();
        left.extend(self.choices.iter().filter(holds).cloned());
        let known = self.choices.iter().any(|choice| choice.value.to_lowercase() == filter);
        if let (Some(called), false) = (self.new, known) {
            let value = self.filter.trim().to_owned();
            let choice = Choice { label: format!("{called} {value}"), value };
            // A name that only stands somewhere in another is more likely meant as it was typed.
            if begun == 0 { left.insert(0, choice) } else { left.push(choice) }
        }
        left
    }

    /// Which of those that are left is chosen.
    pub fn at(&self) -> Option<usize> {
        self.at
    }

    /// The choice.
    pub fn chosen(&self) -> Option<Choice> {
        self.left().into_iter().nth(self.at?)
    }

    /// Why what was typed chooses nothing yet; None if something is chosen, or nothing was typed.
    pub fn undecided(&self) -> Option<&'static str> {
        if self.filter.trim().is_empty() || self.at.is_some() {
            return None;
        }
        Some(if self.left().is_empty() { "nothing matches" } else { "several match: \u{2193} chooses" })
    }

    /// What can be typed into it.
    pub fn hint(&self) -> String {
        match (self.undecided(), self.new) {
            (Some(why), _) => why.into(),
            (None, Some(called)) => format!("type a name for a {called}"),
            (None, None) => "letters filter the list".into(),
        }
    }

    pub(super) fn type_letter(&mut self, letter: char) {
        insert(&mut self.filter, self.after, letter);
        self.filter_changed();
    }

    pub(super) fn erase(&mut self) {
        if erase(&mut self.filter, self.after) {
            self.filter_changed();
        }
    }

    pub(super) fn edit(&mut self, key: Edit) {
        if edit(&mut self.filter, &mut self.after, key) {
            self.filter_changed();
        }
    }

    /// The filter, before and after the cursor.
    pub(super) fn typed(&self) -> (&str, &str) {
        self.filter.split_at(cursor(&self.filter, self.after))
    }

    fn filter_changed(&mut self) {
        self.touched = true;
        self.at = self.meant();
    }

    /// Which of those that are left the filter alone chooses: its whole name, the only one that begins with it, or the
    /// only one left.
    fn meant(&self) -> Option<usize> {
        let filter = self.filter.trim().to_lowercase();
        let left = self.left();
        if filter.is_empty() || left.len() == 1 {
            return (!left.is_empty()).then_some(0);
        }
        let whole = left.iter().position(|choice| choice.value.to_lowercase() == filter);
        let known = |choice: &Choice| self.choices.iter().any(|known| known.value == choice.value);
        let begins = |choice: &Choice| known(choice) && choice.value.to_lowercase().starts_with(&filter);
        let mut begun = left.iter().enumerate().filter(|(_, choice)| begins(choice)).map(|(at, _)| at);
        let first = begun.next().filter(|_| begun.next().is_none());
        whole.filter(|at| known(&left[*at])).or(first)
    }

    pub(super) fn choose(&mut self, down: bool) {
        let count = self.left().len();
        self.touched = true;
        self.at = match (self.at, down) {
            (_, _) if count == 0 => None,
            (None, _) => Some(0),
            (Some(at), true) => Some((at + 1).min(count - 1)),
            (Some(at), false) => Some(at.saturating_sub(1)),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pick(words: &[&str]) -> Pick {
        let choice = |word: &&str| Choice { value: (*word).into(), label: (*word).into() };
        Pick::new(words.iter().map(choice).collect(), None)
    }

    fn values(pick: &Pick) -> Vec<String> {
        pick.left().into_iter().map(|choice| choice.label).collect()
    }

    #[test]
    fn what_begins_with_the_letters_comes_first_and_a_new_name_last() {
        let mut pick = pick(&["Floor", "Roof", "Back roof"]).or_new("new area");
        "ro".chars().for_each(|letter| pick.type_letter(letter));
        assert_eq!(values(&pick), ["Roof", "Back roof", "new area ro"]);
        assert_eq!(pick.chosen().map(|choice| choice.value).as_deref(), Some("Roof"));
        "of".chars().for_each(|letter| pick.type_letter(letter));
        assert_eq!(values(&pick), ["Roof", "Back roof"], "a name that exists is not new");
    }

    #[test]
    fn what_several_match_is_chosen_by_the_person() {
        let mut pick = pick(&["varnish-alkyd", "varnish-water", "enamel-alkyd"]);
        "v".chars().for_each(|letter| pick.type_letter(letter));
        assert_eq!((pick.chosen(), pick.undecided()), (None, Some("several match: \u{2193} chooses")));
        pick.choose(true);
        assert_eq!(pick.chosen().map(|choice| choice.value).as_deref(), Some("varnish-alkyd"));
        "arnish-w".chars().for_each(|letter| pick.type_letter(letter));
        assert_eq!(pick.chosen().map(|choice| choice.value).as_deref(), Some("varnish-water"));
        pick.type_letter('x');
        assert_eq!((pick.chosen(), pick.undecided()), (None, Some("nothing matches")));
    }

    #[test]
    fn a_whole_name_is_chosen_although_others_begin_with_it() {
        let mut pick = pick(&["door, outside", "door"]).or_new("new area");
        "door".chars().for_each(|letter| pick.type_letter(letter));
        assert_eq!(pick.chosen().map(|choice| choice.value).as_deref(), Some("door"));
    }

    #[test]
    fn a_choice_that_is_not_in_the_list_joins_it() {
        let mut pick = pick(&["varnish"]);
        pick.preset(Some("own-primer".into()));
        assert_eq!(pick.chosen().map(|choice| choice.value).as_deref(), Some("own-primer"));
        assert_eq!(values(&pick), ["own-primer", "varnish"]);
    }
}
