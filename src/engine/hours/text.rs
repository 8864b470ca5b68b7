//! Lines of free hours as people write them: "Mon-Fri 19:00-22:00, Sat 9-17", "2026-05-09 none".

use chrono::{NaiveDate, Weekday};

use super::clock::DaySpan;
use super::{Exception, Weekly};
use crate::engine::units::clean;

const ALL: [bool; 7] = [true; 7];
const WORKING: [bool; 7] = [true, true, true, true, true, false, false];
const WEEKEND: [bool; 7] = [false, false, false, false, false, true, true];
/// Words for a day without free hours.
const NONE: [&str; 5] = ["none", "no", "off", "not free", "busy"];

/// Parses every week's hours. Days without a time take the time that follows, times without a day take the days
/// before.
pub(super) fn weekly(text: &str) -> Result<Vec<Weekly>, String> {
    let plain = plain(text);
    let (mut found, mut days, mut waiting) = (Vec::new(), None, false);
    for part in plain.split([',', ';', '&']).map(str::trim).filter(|part| !part.is_empty()) {
        let at = part.find(|c: char| c.is_ascii_digit()).into_iter();
        let at = at.chain(["noon", "midnight"].iter().filter_map(|word| part.find(word))).min();
        let (named, times) = part.split_at(at.unwrap_or(part.len()));
        if let Some(named) = days_named(named)? {
            days = Some(match days {
                Some(before) if waiting => either(before, named),
                _ => named,
            });
        }
        waiting = times.is_empty();
        if let (Some(days), false) = (days, waiting) {
            found.push(Weekly { days, span: DaySpan::parse(times.trim())? });
        } else if days.is_none() {
            return Err(format!(
                "\"{part}\" names no day; write Mon-Fri, Sat, weekdays, weekends or daily before it"
            ));
        }
    }
    if waiting || found.is_empty() {
        return Err("no time follows the days; write it after them, such as Sat 9-17".into());
    }
    Ok(found)
}

/// Parses one or more days that differ from their weekday.
pub(super) fn exception(text: &str) -> Result<Exception, String> {
    let plain = plain(text);
    let (from, rest) = leading_date(&plain)
        .ok_or("start with the date, such as \"2026-05-09 none\" or \"2026-05-10 10-18\"")?;
    let rest = rest.trim_start();
    let further = ["..", "\u{2026}", "/", "-"].iter().find_map(|sign| rest.strip_prefix(sign));
    let (to, rest) = match further.map(|further| (leading_date(further.trim_start()), further)) {
        Some((Some((to, rest)), _)) => (to, rest),
        Some((None, further)) => {
            return Err(format!("\"{}\" is not a date; write 2026-05-12", further.trim()));
        }
        None => (from, rest),
    };
    if to < from {
        return Err(format!("{to} is before {from}"));
    }
    let rest = rest.trim_start_matches([':', ' ']).trim_end();
    let mut spans = Vec::new();
    if !NONE.contains(&rest) {
        for part in rest.split([',', ';', '&']).map(str::trim).filter(|part| !part.is_empty()) {
            spans.push(DaySpan::parse(part)?);
        }
        if spans.is_empty() {
            return Err("give the free hours of that day, such as 10-18, or none".into());
        }
    }
    Ok(Exception { from, to, spans, said: clean(text.trim()) })
}

/// Lower case, with plain hyphens and commas.
fn plain(text: &str) -> String {
    let dashes = ['\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2014}', '\u{2212}'];
    let plain = clean(text).to_lowercase().replace(dashes, "-");
    plain
        .replace(" and ", ", ")
        .replace(" to ", " - ")
        .replace(" until ", " - ")
        .replace(" till ", " - ")
        .replace("from ", "")
}

fn leading_date(text: &str) -> Option<(NaiveDate, &str)> {
    let (date, rest) = text.split_at_checked(10)?;
    Some((NaiveDate::parse_from_str(date, "%Y-%m-%d").ok()?, rest))
}

/// The days that a text names; None for an empty text.
fn days_named(text: &str) -> Result<Option<[bool; 7]>, String> {
    let text = text.trim().trim_end_matches(':').trim();
    if text.is_empty() {
        return Ok(None);
    }
    let mut days = [false; 7];
    for part in text.split(['/', '+']).flat_map(joined) {
        days = either(days, days_of(&part)?);
    }
    Ok(Some(days))
}

/// "mon wed - fri" as "mon" and "wed-fri"; the words of one day's name stay together.
fn joined(text: &str) -> Vec<String> {
    let close = text.replace(" - ", "-").replace(" -", "-").replace("- ", "-").replace("every day", "daily");
    close.split_whitespace().map(str::to_owned).collect()
}

fn days_of(text: &str) -> Result<[bool; 7], String> {
    match text {
        "daily" | "everyday" => return Ok(ALL),
        "weekdays" | "weekday" | "workdays" => return Ok(WORKING),
        "weekends" | "weekend" => return Ok(WEEKEND),
        _ => {}
    }
    let day = |name: &str| {
        weekday(name)
            .ok_or_else(|| format!("\"{name}\" is not a day; write Mon, Tue, Wed, Thu, Fri, Sat or Sun"))
    };
    let (first, last) = match text.split_once('-') {
        Some((first, last)) => (day(first)?, day(last)?),
        None => (day(text)?, day(text)?),
    };
    let mut days = [false; 7];
    let (first, length) = (first.num_days_from_monday(), last.days_since(first));
    for day in first..=first + length {
        if let Some(day) = days.get_mut(day as usize % 7) {
            *day = true;
        }
    }
    Ok(days)
}

fn weekday(name: &str) -> Option<Weekday> {
    let name = name.trim_end_matches('.');
    let short = match name {
        "mo" | "mondays" => "mon",
        "tu" | "tues" | "tuesdays" => "tue",
        "we" | "weds" | "wednesdays" => "wed",
        "th" | "thur" | "thurs" | "thursdays" => "thu",
        "fr" | "fridays" => "fri",
        "sa" | "saturdays" => "sat",
        "su" | "sundays" => "sun",
        other => other,
    };
    short.parse().ok()
}

fn either(mut days: [bool; 7], more: [bool; 7]) -> [bool; 7] {
    for (day, more) in days.iter_mut().zip(more) {
        *day |= more;
    }
    days
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "M T W T F . ." and minutes, one per entry.
    fn read(text: &str) -> Result<Vec<String>, String> {
        let shown = |weekly: &Weekly| {
            let days: String =
                "MTWTFSS".chars().zip(weekly.days).map(|(c, on)| if on { c } else { '.' }).collect();
            format!("{days} {}-{}", weekly.span.from_minute(), weekly.span.to_minute())
        };
        weekly(text).map(|found| found.iter().map(shown).collect())
    }

    #[test]
    fn weekly_hours_are_read_in_the_ways_people_write_them() {
        for (text, expected) in [
            ("Mon-Fri 19:00-22:00, Sat 9-17", &["MTWTF.. 1140-1320", ".....S. 540-1020"][..]),
            ("Mon–Fri 19:00–22:00, Sat 9–17", &["MTWTF.. 1140-1320", ".....S. 540-1020"]),
            ("weekdays 7pm to 10pm", &["MTWTF.. 1140-1320"]),
            ("daily 22-01", &["MTWTFSS 1320-1500"]),
            ("every day 6-7", &["MTWTFSS 360-420"]),
            ("Weekends: 9-12, 14-17", &[".....SS 540-720", ".....SS 840-1020"]),
            ("Mon, Wed and Fri 19-22; Sun 9-12", &["M.W.F.. 1140-1320", "......S 540-720"]),
            ("Tuesday/Thursday from 19 until 21", &[".T.T... 1140-1260"]),
            ("Fri - Mon 8-9", &["M...FSS 480-540"]),
            ("Sat 9am till 5pm", &[".....S. 540-1020"]),
            ("Saturdays noon-3pm", &[".....S. 720-900"]),
            ("Sa midnight - 2", &[".....S. 0-120"]),
            ("Mon. & Tues. 19-20", &["MT..... 1140-1200"]),
        ] {
            let expected: Vec<String> = expected.iter().map(|&text| text.to_owned()).collect();
            assert_eq!(read(text), Ok(expected), "{text}");
        }
    }

    #[test]
    fn an_error_in_a_day_or_time_names_what_to_write() {
        for (text, advice) in [
            ("", "no time follows the days"),
            ("Mon-Fri", "no time follows the days"),
            ("19-22", "names no day; write Mon-Fri"),
            ("Mon-Fri 19-22, Sat", "no time follows the days"),
            ("Funday 9-17", "\"funday\" is not a day; write Mon, Tue"),
            ("Mon-Fri 9-5", "over midnight"),
            ("Mon-Wed-Fri 9-17", "is not a day"),
        ] {
            let shown = read(text).unwrap_err();
            assert!(shown.contains(advice), "{text}: {shown}");
        }
    }

    #[test]
    fn an_exception_names_a_day_or_several() {
        for (text, from, to, spans) in [
            ("2026-05-09 none", "2026-05-09", "2026-05-09", &[][..]),
            ("2026-05-10 10-18", "2026-05-10", "2026-05-10", &[(600, 1080)]),
            ("2026-05-10: 10-12 and 14-18", "2026-05-10", "2026-05-10", &[(600, 720), (840, 1080)]),
            ("2026-07-01..2026-07-14 off", "2026-07-01", "2026-07-14", &[]),
            ("2026-07-01 – 2026-07-14 none", "2026-07-01", "2026-07-14", &[]),
            ("2026-07-01/2026-07-14 0-24", "2026-07-01", "2026-07-14", &[(0, 1440)]),
            ("2026-07-01 to 2026-07-14 none", "2026-07-01", "2026-07-14", &[]),
        ] {
            let read = exception(text).unwrap();
            let found: Vec<(u16, u16)> =
                read.spans.iter().map(|span| (span.from_minute(), span.to_minute())).collect();
            let day = |text: &str| text.parse::<NaiveDate>().unwrap();
            assert_eq!((read.from, read.to, found.as_slice()), (day(from), day(to), spans), "{text}");
        }
        for (text, advice) in [
            ("none", "start with the date"),
            ("9 May none", "start with the date"),
            ("2026-02-30 none", "start with the date"),
            ("2026-05-09", "or none"),
            ("2026-05-09..2026-13-01 none", "is not a date"),
            ("2026-05-09..2026-05-08 none", "is before"),
            ("2026-05-09 perhaps", "is not a time"),
        ] {
            let shown = exception(text).unwrap_err();
            assert!(shown.contains(advice), "{text}: {shown}");
        }
    }
}
