//! What a shell completes besides commands and options: the areas, places, products, entries, batches and alerts of
//! the job. The scripts of `completions` ask for it: `curewright complete -- WORD…` prints a line for each, a tab
//! before what it is.

use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Arg, CommandFactory, Parser};

use super::Failure;
use super::args::Arguments;
use super::setup::Setup;
use super::shown::Shown;
use crate::app::session::Session;
use crate::engine::assess::SurveyOptions;
use crate::engine::job::voided;
use crate::engine::units::{Moment, clean};

/// The number of entries that are offered, the newest first.
const MOST: usize = 50;

/// Prints what the last of the words may become. What cannot be found is not offered; a shell has no use for why.
pub fn main(words: impl Iterator<Item = String>) -> ExitCode {
    let words: Vec<String> = words.skip_while(|word| word == "--").map(|word| bare(&word)).collect();
    let mut out = Shown::new(io::stdout().lock());
    if let Ok(offers) = offers(&words) {
        for (value, what) in offers {
            let _ = writeln!(out, "{}\t{}", clean(&value), clean(&what));
        }
    }
    ExitCode::SUCCESS
}

/// A word as the program would get it: shells hand over quotes and backslashes as they were typed.
fn bare(word: &str) -> String {
    let mut bare = String::new();
    let mut letters = word.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => bare.extend(letters.next()),
            '"' | '\'' => {}
            other => bare.push(other),
        }
    }
    bare
}

/// What can be offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Area,
    Place,
    Product,
    Mixture,
    Entry,
    Batch,
    Alert,
}

/// What an argument of a command takes.
fn kind(command: &str, argument: &Arg) -> Option<Kind> {
    Some(match (command, argument.get_id().as_str()) {
        ("mix", "product") => Kind::Mixture,
        ("show", "id") | (_, "product" | "next") => Kind::Product,
        ("note", "first") | (_, "area") => Kind::Area,
        (_, "place") => Kind::Place,
        (_, "entry") => Kind::Entry,
        (_, "batch") => Kind::Batch,
        (_, "ack" | "later") => Kind::Alert,
        _ => return None,
    })
}

/// What is asked for at the last word, and how it begins.
fn asked(words: &[String]) -> Option<(Kind, &str)> {
    let mut root = Arguments::command();
    root.build();
    let (last, before) = words.split_last()?;
    let mut command = &root;
    let (mut position, mut value_of, mut options) = (0, None::<&Arg>, true);
    for word in before {
        if value_of.is_some() {
            // A shell may hand "--batch=3" over in three words.
            if word != "=" {
                value_of = None;
            }
        } else if options && word == "--" {
            options = false;
        } else if let Some(option) = word.strip_prefix("--").filter(|_| options) {
            value_of = long(command, option).filter(|argument| argument.get_action().takes_values());
        } else if options && word.starts_with('-') {
            // No short option has a value.
        } else if let Some(sub) = command.find_subcommand(word).filter(|_| position == 0) {
            command = sub;
        } else {
            position += 1;
        }
    }
    let (argument, begun) = match (value_of, last.split_once('=')) {
        (Some(argument), _) => (argument, if last == "=" { "" } else { last.as_str() }),
        (None, Some((option, value))) if options && option.starts_with("--") => {
            (long(command, &option[2..])?, value)
        }
        _ if options && last.starts_with('-') => return None,
        _ => (command.get_positionals().nth(position)?, last.as_str()),
    };
    Some((kind(command.get_name(), argument)?, begun))
}

fn long<'c>(command: &'c clap::Command, name: &str) -> Option<&'c Arg> {
    command.get_arguments().find(|argument| argument.get_long() == Some(name))
}

/// The value of a global option, as far as it was typed.
fn typed<'w>(words: &'w [String], option: &str) -> Option<&'w str> {
    let at = words.iter().position(|word| word == option);
    let apart = at.and_then(|at| words.get(at + 1)).map(String::as_str);
    apart.or_else(|| words.iter().find_map(|word| word.strip_prefix(option)?.strip_prefix('=')))
}

fn offers(words: &[String]) -> Result<Vec<(String, String)>, Failure> {
    let Some((kind, begun)) = asked(words) else { return Ok(Vec::new()) };
    let mut line = vec!["curewright".to_owned()];
    for option in ["--job", "--profiles"] {
        line.extend(typed(&words[..words.len() - 1], option).map(|value| format!("{option}={value}")));
    }
    let arguments = Arguments::try_parse_from(line).map_err(|error| Failure::Input(error.to_string()))?;
    let setup = Setup::gather(&arguments)?;
    let mut all = of_kind(kind, &setup)?;
    all.retain(|(value, _)| value.starts_with(begun));
    Ok(all)
}

fn of_kind(kind: Kind, setup: &Setup) -> Result<Vec<(String, String)>, Failure> {
    if matches!(kind, Kind::Product | Kind::Mixture) {
        let wanted = setup.library.iter().filter(|product| kind == Kind::Product || product.mix.is_some());
        return Ok(wanted.map(|product| (product.id.clone(), product.name.clone())).collect());
    }
    let session = setup.session()?;
    let now = session.now();
    Ok(match kind {
        Kind::Area => {
            let areas = session.job(Moment::MAX_UTC)?.areas;
            areas.into_iter().map(|area| (area.name.clone(), area.place().to_owned())).collect()
        }
        Kind::Entry => entries(&session, now)?,
        Kind::Alert => {
            let open = session.alerts()?.into_iter().filter(|alert| alert.acknowledged.is_none());
            open.map(|alert| (alert.id.0.to_string(), alert.text)).collect()
        }
        Kind::Batch | Kind::Place => {
            let survey = session.survey(now, SurveyOptions::default())?;
            if kind == Kind::Place {
                survey.places.iter().map(|air| (air.place.clone(), String::new())).collect()
            } else {
                let batches = survey.batches.iter();
                batches.map(|batch| (batch.batch.id.to_string(), batch.batch.product.clone())).collect()
            }
        }
        Kind::Product | Kind::Mixture => Vec::new(),
    })
}

fn entries(session: &Session<'_>, now: Moment) -> Result<Vec<(String, String)>, Failure> {
    let entries = session.entries()?;
    let voided = voided(&entries);
    let words = session.words();
    let counts = entries.iter().rev().filter(|entry| !voided.contains(&entry.id)).take(MOST);
    let said = |entry: &crate::engine::job::Entry| {
        format!("{}, {}", entry.summary(&words.units), words.when(entry.at, now))
    };
    Ok(counts.map(|entry| (entry.id.to_string(), said(entry))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: &str) -> Option<(Kind, String)> {
        let mut words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        words.remove(0);
        asked(&words).map(|(kind, begun)| (kind, begun.to_owned()))
    }

    #[test]
    fn each_place_of_a_line_asks_for_its_own() {
        for (line, kind, begun) in [
            ("curewright coat ", Kind::Area, ""),
            ("curewright coat ro", Kind::Area, "ro"),
            ("curewright --job hut.db coat roof epo", Kind::Product, "epo"),
            ("curewright coat roof --at -25m epo", Kind::Product, "epo"),
            ("curewright coat roof --done var", Kind::Product, "var"),
            ("curewright coat roof --batch ", Kind::Batch, ""),
            ("curewright coat roof --batch=3", Kind::Batch, "3"),
            ("curewright coat roof --batch = 3", Kind::Batch, "3"),
            ("curewright mix ", Kind::Mixture, ""),
            ("curewright undo ", Kind::Entry, ""),
            ("curewright correct ", Kind::Entry, ""),
            ("curewright correct 3 --next ", Kind::Product, ""),
            ("curewright note ", Kind::Area, ""),
            ("curewright alerts --later ", Kind::Alert, ""),
            ("curewright emptied ", Kind::Batch, ""),
            ("curewright profile show var", Kind::Product, "var"),
            ("curewright reading 17 --place ", Kind::Place, ""),
        ] {
            assert_eq!(at(line), Some((kind, begun.to_owned())), "{line}");
        }
        for line in [
            "curewright ",
            "curewright co",
            "curewright coat --ba",
            "curewright import ",
            "curewright reading ",
        ] {
            assert_eq!(at(line), None, "{line}");
        }
    }

    #[test]
    fn quotes_of_the_shell_are_not_part_of_a_name() {
        assert_eq!(bare("door\\ \\&\\ f"), "door & f");
        assert_eq!(bare("\"door & f"), "door & f");
    }
}
