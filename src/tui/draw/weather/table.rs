//! The weather as a table of hours: what is to come, then what was, latest first.

use chrono::{TimeDelta, Timelike};
use ratatui::text::{Line, Span};

use super::super::Sight;
use super::rows::rain_letter;
use super::{degrees, said, sign};
use crate::app::view::{Sample, WeatherView};
use crate::engine::units::Celsius;

/// From here on there are columns for the outdoors and for what rain and dew are in words.
const WIDE: u16 = 60;

/// The page in lines.
pub fn lines(sight: &Sight<'_>, weather: &WeatherView, columns: u16) -> Vec<Line<'static>> {
    let now = sight.app.view.now;
    let mut lines = said(sight, weather, columns);
    lines.push(Line::default());
    let wide = columns >= WIDE;
    let head = |what: &str| {
        let text = if wide {
            format!("{:<16}{:>6}{:>8}{:>6}  {:>8}  rain mm  coat", what, "air", "surface", "dew", "outside")
        } else {
            format!("{:<9}{:>6}{:>6}{:>5}   coat", what, "air", "surf", "dew")
        };
        Line::styled(text, sight.theme.strong())
    };
    let (coming_head, before_head) = match (wide, sign(weather)) {
        (true, sign) => (format!("From now on, {sign}"), "Before".to_owned()),
        (false, sign) => (sign.to_owned(), "Before".to_owned()),
    };
    // Half past is told by the plot alone. A sample before now stands for the half hour that runs.
    let full = |sample: &&Sample| sight.civil.local(sample.at).minute() < 30;
    let now_on = weather.samples.partition_point(|sample| sample.at <= now).saturating_sub(1);
    let (before, ahead) = weather.samples.split_at(now_on);
    lines.push(head(&coming_head));
    let current = ahead.first().into_iter();
    let coming = current.chain(ahead.iter().skip(1).filter(full));
    lines.extend(coming.map(|sample| hour(sight, weather, sample, columns)));
    lines.push(Line::default());
    lines.push(head(&before_head));
    lines.extend(before.iter().rev().filter(full).map(|sample| hour(sight, weather, sample, columns)));
    lines
}

fn hour(sight: &Sight<'_>, weather: &WeatherView, sample: &Sample, columns: u16) -> Line<'static> {
    let now = sight.app.view.now;
    let number = |value: Option<Celsius>, columns: usize| match value {
        Some(value) => format!("{:>columns$.1}", degrees(weather, value)),
        None => format!("{:>columns$}", "-"),
    };
    let when = format!("{} {}", sight.civil.weekday(sample.at), sight.civil.time_of_day(sample.at));
    let dew = if sample.near_dew { '!' } else { ' ' };
    // The sample that runs began before the first stretch does.
    let at = sample.at.max(now);
    let stretch = weather.stretches.iter().find(|part| part.from <= at && at < part.to);
    let word = stretch.filter(|_| sample.at + TimeDelta::minutes(30) > now).map(|part| {
        let style = if part.fits { sight.theme.strong() } else { sight.theme.plain() };
        Span::styled(part.word, style)
    });
    let line = if columns >= WIDE {
        let numbers = number(sample.air, 6) + &number(sample.surface, 8) + &number(sample.dew, 6);
        let rain = if sample.rain > 0.0 { format!("{:.1}", sample.rain) } else { String::new() };
        format!("{when:<16}{numbers}{dew} {}  {rain:>7}  ", number(sample.outdoor, 8))
    } else {
        let numbers = number(sample.air, 6) + &number(sample.surface, 6) + &number(sample.dew, 5);
        let rain = rain_letter(std::slice::from_ref(sample)).unwrap_or(' ');
        format!("{when:<9}{numbers}{dew}{rain} ")
    };
    let style = if sample.at < now { sight.theme.quiet() } else { sight.theme.plain() };
    Line::from(std::iter::once(Span::styled(line, style)).chain(word).collect::<Vec<_>>())
}
