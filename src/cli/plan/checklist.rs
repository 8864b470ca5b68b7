//! The next session as a checklist, on a terminal or on paper.

use std::io::{self, Write};

use crate::app::wording::Checklist;
use crate::tui::wrap;

/// As wide as paper and the narrowest usual terminal.
const COLUMNS: u16 = 80;

/// Prints it with boxes to tick.
pub fn print(list: &Checklist, out: &mut dyn Write) -> io::Result<()> {
    for line in &list.head {
        hang(out, "", line)?;
    }
    for part in &list.parts {
        writeln!(out, "\n{}", part.name)?;
        let sign = if part.ticked { "  [ ] " } else { "  - " };
        for line in &part.lines {
            hang(out, sign, line)?;
        }
    }
    writeln!(out)?;
    list.after.iter().try_for_each(|line| hang(out, "", line))
}

/// A text after a sign; its further lines begin below its first word.
fn hang(out: &mut dyn Write, sign: &str, text: &str) -> io::Result<()> {
    let indent = sign.len();
    for (index, line) in wrap(text, COLUMNS - indent as u16).iter().enumerate() {
        let before = if index == 0 { sign } else { &" ".repeat(indent)[..] };
        writeln!(out, "{before}{line}")?;
    }
    Ok(())
}
