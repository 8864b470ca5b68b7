//! A time span of a day: "19:00-22:00", "9-17", "7-10pm", "22-01".

const HOUR: u16 = 60;
const DAY: u16 = 24 * HOUR;
/// A longer span over midnight is probably "9-5", meant as 9-17.
const LONGEST_NIGHT: u16 = 12 * HOUR;

/// From one minute of a day to another, which may be on the next day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DaySpan {
    from: u16,
    to: u16,
}

impl DaySpan {
    /// Start in minutes after midnight.
    pub const fn from_minute(self) -> u16 {
        self.from
    }

    /// End in minutes after the same midnight; more than a day if it is on the next day.
    pub const fn to_minute(self) -> u16 {
        self.to
    }

    /// Parses a span. `text` is lower-case, with plain hyphens.
    pub(super) fn parse(text: &str) -> Result<Self, String> {
        let (from, to) = text
            .split_once('-')
            .filter(|(_, to)| !to.contains('-'))
            .ok_or_else(|| format!("\"{text}\" is not a time; write from - to, such as 19:00-22:00"))?;
        let (from, to) = settle(Hand::parse(from)?, Hand::parse(to)?);
        if from >= DAY {
            return Err(format!("\"{text}\" starts at the end of the day; write 0 for midnight"));
        }
        if from == to {
            return Err(format!("\"{text}\" starts when it ends; the whole day is 0-24"));
        }
        let to = if to < from { to + DAY } else { to };
        if to > DAY && to - from > LONGEST_NIGHT {
            let hours = (to - from) / HOUR;
            return Err(format!(
                "\"{text}\" is {hours} hours over midnight; write hours of the afternoon as 17 or 5pm"
            ));
        }
        Ok(Self { from, to })
    }
}

/// A time of day as written.
#[derive(Debug, Clone, Copy)]
struct Hand {
    /// Minutes after midnight; after midnight or noon if am or pm is open.
    minutes: u16,
    /// Whether am or pm is not stated and both are possible.
    open: bool,
    /// Whether "am" or "pm" is stated.
    halved: bool,
}

impl Hand {
    fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let wrong = || format!("\"{text}\" is not a time of day; write 19, 19:00 or 7pm");
        match text {
            "noon" => return Ok(Self { minutes: 12 * HOUR, open: false, halved: true }),
            "midnight" => return Ok(Self { minutes: 0, open: false, halved: true }),
            _ => {}
        }
        let letters = text.find(['a', 'p']).unwrap_or(text.len());
        let (digits, half) = text.split_at_checked(letters).ok_or_else(wrong)?;
        let half: String = half.chars().filter(|c| !matches!(c, '.' | ' ')).collect();
        let digits = digits.trim().trim_end_matches('h');
        let (hour, minute) = digits.split_once([':', '.', 'h']).unwrap_or((digits, "0"));
        let number = |text: &str| {
            let plain = (1..=2).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
            plain.then(|| text.parse::<u16>().ok()).flatten().ok_or_else(wrong)
        };
        let (hour, minute) = (number(hour)?, number(minute)?);
        if minute >= HOUR || hour > 24 || (hour == 24 && minute > 0) {
            return Err(wrong());
        }
        let halved = !half.is_empty();
        if halved && !(1..=12).contains(&hour) {
            return Err(wrong());
        }
        let hour = match half.as_str() {
            "" => hour,
            "a" | "am" => hour % 12,
            "p" | "pm" => hour % 12 + 12,
            _ => return Err(wrong()),
        };
        Ok(Self { minutes: hour * HOUR + minute, open: !halved && (1..=12).contains(&hour), halved })
    }

    /// The possible minutes after midnight.
    const fn halves(self) -> [u16; 2] {
        let morning = self.minutes % (12 * HOUR);
        [morning, morning + 12 * HOUR]
    }
}

/// Both ends in minutes after midnight. "am" or "pm" on one end counts for the other too, in the way that gives
/// the shorter span.
fn settle(from: Hand, to: Hand) -> (u16, u16) {
    let length = |from: u16, to: u16| match (to + DAY - from % DAY) % DAY {
        0 => DAY,
        minutes => minutes,
    };
    let shorter = |a: (u16, u16), b: (u16, u16)| if length(a.0, a.1) <= length(b.0, b.1) { a } else { b };
    match (from.open && to.halved, to.open && from.halved) {
        (true, _) => {
            let [morning, afternoon] = from.halves();
            shorter((morning, to.minutes), (afternoon, to.minutes))
        }
        (_, true) => {
            let [morning, afternoon] = to.halves();
            shorter((from.minutes, morning), (from.minutes, afternoon))
        }
        _ => (from.minutes, to.minutes),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<(u16, u16), String> {
        DaySpan::parse(text).map(|span| (span.from, span.to))
    }

    #[test]
    fn hours_are_read_in_the_ways_people_write_them() {
        for (text, from, to) in [
            ("19:00-22:00", 19 * 60, 22 * 60),
            ("19-22", 19 * 60, 22 * 60),
            ("9 - 17", 9 * 60, 17 * 60),
            ("9.30-12.15", 570, 735),
            ("19h30-22h", 1170, 1320),
            ("7pm-10pm", 19 * 60, 22 * 60),
            ("7-10pm", 19 * 60, 22 * 60),
            ("7:30 p.m. - 10 p.m.", 1170, 1320),
            ("9am-5pm", 9 * 60, 17 * 60),
            ("9-5pm", 9 * 60, 17 * 60),
            ("11-1pm", 11 * 60, 13 * 60),
            ("10pm-1", 22 * 60, 25 * 60),
            ("10-1am", 22 * 60, 25 * 60),
            ("10pm-12am", 22 * 60, 24 * 60),
            ("10-12pm", 10 * 60, 12 * 60),
            ("noon-3", 12 * 60, 15 * 60),
            ("8pm-midnight", 20 * 60, 24 * 60),
            ("22-01", 22 * 60, 25 * 60),
            ("18-24", 18 * 60, 24 * 60),
            ("0-24", 0, 24 * 60),
            ("22-10", 22 * 60, 34 * 60),
        ] {
            assert_eq!(read(text), Ok((from, to)), "{text}");
        }
    }

    #[test]
    fn an_error_in_a_time_names_what_to_write() {
        for (text, advice) in [
            ("9-5", "20 hours over midnight; write hours of the afternoon as 17 or 5pm"),
            ("19", "from - to"),
            ("19-", "not a time of day"),
            ("-22", "not a time of day"),
            ("19-22-23", "from - to"),
            ("25-26", "not a time of day"),
            ("19:60-20", "not a time of day"),
            ("19-19", "the whole day is 0-24"),
            ("24-2", "write 0 for midnight"),
            ("13pm-14pm", "not a time of day"),
            ("0am-3am", "not a time of day"),
            ("7xm-9", "not a time of day"),
            ("1900-2200", "not a time of day"),
            ("+7-9", "not a time of day"),
        ] {
            let shown = read(text).unwrap_err();
            assert!(shown.contains(advice), "{text}: {shown}");
        }
    }
}
