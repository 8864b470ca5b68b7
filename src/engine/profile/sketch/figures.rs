//! Figures and paragraphs for a sheet: short, and rounded no more than a data sheet does.

use chrono::TimeDelta;
use unicode_width::UnicodeWidthStr;

/// A time as a data sheet writes it: "45 min", "3 h 20", "42 h", "5.5 d". Nothing finer: it is an
/// interpolation of figures that were rounded before.
pub(super) fn figure(time: TimeDelta) -> String {
    let seconds = time.num_milliseconds() as f64 / 1000.0;
    let (minutes, hours, days) = (seconds / 60.0, seconds / 3600.0, seconds / 86_400.0);
    if seconds < 99.5 {
        format!("{seconds:.0} s")
    } else if minutes < 9.5 {
        format!("{} min", plain((minutes * 2.0).round() / 2.0))
    } else if minutes < 97.5 {
        format!("{minutes:.0} min")
    } else if hours < 23.95 {
        let fives = (minutes / 5.0).round() as i64;
        let (hours, rest) = (fives / 12, fives % 12 * 5);
        if rest == 0 { format!("{hours} h") } else { format!("{hours} h {rest:02}") }
    } else if hours < 95.75 {
        format!("{} h", plain((hours * 2.0).round() / 2.0))
    } else if days < 9.75 {
        format!("{} d", plain((days * 2.0).round() / 2.0))
    } else {
        format!("{days:.0} d")
    }
}

/// A number without trailing zeros.
pub(super) fn plain(number: f64) -> String {
    let text = format!("{number:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A paragraph of at most this many columns, with a hanging indent.
pub(super) fn wrapped(lead: &str, text: &str, width: usize) -> String {
    let indent = lead.width();
    let mut lines = String::from(lead);
    let mut column = indent;
    for word in glued(text) {
        let room = column == indent || column + 1 + word.width() <= width;
        if !room {
            lines.push('\n');
            lines.push_str(&" ".repeat(indent));
            column = indent;
        }
        if column > indent {
            lines.push(' ');
            column += 1;
        }
        lines.push_str(&word);
        column += word.width();
    }
    lines
}

/// The words of a text; a number and its unit are one.
fn glued(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let unit = UNITS.contains(&word.trim_end_matches([',', ';', '.', ':', ')']));
        match words.last_mut() {
            Some(number) if unit && number.ends_with(|c: char| c.is_ascii_digit()) => {
                number.push(' ');
                number.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

const UNITS: [&str; 13] = ["°C", "°F", "K", "%", "µm", "mm", "kg/L", "g", "kg", "s", "min", "h", "d"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_of_a_data_sheet_comes_out_as_it_was_written() {
        for (seconds, text) in [
            (45, "45 s"),
            (150, "2.5 min"),
            (2_700, "45 min"),
            (5_400, "90 min"),
            (6_300, "1 h 45"),
            (7_200, "2 h"),
            (12_000, "3 h 20"),
            (86_370, "24 h"),
            (151_200, "42 h"),
            (345_600, "4 d"),
            (604_800, "7 d"),
            (1_382_400, "16 d"),
        ] {
            assert_eq!(figure(TimeDelta::seconds(seconds)), text);
        }
    }

    #[test]
    fn no_figure_is_wider_than_its_column() {
        for step in 0..4_000 {
            let time = TimeDelta::seconds((1.006_f64.powi(step)).round() as i64);
            if time < TimeDelta::days(3_660) {
                let text = figure(time);
                assert!(text.width() <= 7, "{text}");
            }
        }
    }

    #[test]
    fn a_paragraph_stands_below_its_first_word() {
        assert_eq!(wrapped("Air  ", "dry and warm", 12), "Air  dry and\n     warm");
        assert_eq!(wrapped("", "from 60 to 90 µm wet", 14), "from 60 to\n90 µm wet");
        assert_eq!(wrapped("", "", 12), "");
        assert_eq!(wrapped("! ", "unbreakablebutlong word", 8), "! unbreakablebutlong\n  word");
    }
}
