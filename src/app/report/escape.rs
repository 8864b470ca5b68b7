//! Texts of people and files as they may stand in a table or a Markdown text. (In HTML the template escapes
//! every value.)

use std::borrow::Cow;

use crate::engine::units::clean;

/// A cell of a table as no spreadsheet takes it for a formula: what would begin one gets an apostrophe
/// before it, as OWASP advises ("CSV Injection").
pub fn cell(text: &str) -> Cow<'_, str> {
    let first = text.chars().next();
    let begins = first.is_some_and(|c| matches!(c, '\t' | '\r' | '\n'))
        || text.trim_start().chars().next().is_some_and(|c| {
            // The wide forms count in some spreadsheets, too.
            matches!(c, '=' | '+' | '-' | '@' | '\u{ff1d}' | '\u{ff0b}' | '\u{ff0d}' | '\u{ff20}')
        });
    if begins { Cow::Owned(format!("'{text}")) } else { Cow::Borrowed(text) }
}

/// A text in Markdown that says nothing but itself: no emphasis, no link, no tag, no end of a table's cell.
pub fn markdown(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in clean(text).chars() {
        if "\\`*_[]<>|~&#$!".contains(letter) {
            escaped.push('\\');
        }
        escaped.push(letter);
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_a_formula() {
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "\n=1", "＝1"] {
            assert_eq!(cell(text), format!("'{text}"));
        }
        for text in ["", "roof", "1-2", "a=b", "'=1", "17.5"] {
            assert_eq!(cell(text), text);
        }
    }

    #[test]
    fn markdown_says_what_is_written() {
        assert_eq!(markdown("a|b *c* <d> [e](f)"), "a\\|b \\*c\\* \\<d\\> \\[e\\](f)");
        assert_eq!(markdown("one\n# two"), "one \\# two");
    }
}
