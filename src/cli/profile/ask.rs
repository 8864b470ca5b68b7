//! Asks for the figures of a data sheet, one line each.

use std::io::{BufRead, Write};

use super::{Answers, ProfileError, questions};
use crate::engine::units::Units;

/// The answers. A wrong one is asked for again; the end of the input skips what may be skipped.
pub(super) fn answers(
    units: &Units,
    input: &mut dyn BufRead,
    out: &mut dyn Write,
) -> Result<Answers, ProfileError> {
    writeln!(out, "Answer from the data sheet; an empty answer skips. Times such as 90 min, 4 h, 7 d.")?;
    let mut answers = Answers::default();
    for question in questions() {
        while answers.lead_to(question) {
            write!(out, "{}: ", question.text(units))?;
            out.flush()?;
            let Some(answer) = line(input)? else {
                writeln!(out)?;
                if question.is_required() {
                    return Err(ProfileError::NoAnswer(question.text(units)));
                }
                break;
            };
            match answers.give(question, &answer, units) {
                Ok(()) => break,
                Err(why) => writeln!(out, "  Not accepted: {why}.")?,
            }
        }
    }
    Ok(answers)
}

/// The next line, without its end; none at the end of the input.
fn line(input: &mut dyn BufRead) -> Result<Option<String>, ProfileError> {
    let mut line = String::new();
    match input.read_line(&mut line) {
        Ok(0) => Ok(None),
        Ok(_) => Ok(Some(line)),
        Err(source) => Err(ProfileError::Read { file: "the answer".into(), source }),
    }
}
