//! The axes of a plot: where a moment, a temperature and a humidity lie in the drawing.

use chrono::{TimeDelta, Timelike};
use maud::{Markup, html};

use crate::app::report::text::Tell;
use crate::engine::assess::{AirSample, TraceSample};
use crate::engine::profile::Application;
use crate::engine::units::{Celsius, Humidity, Moment};

/// The drawing's own units; text is 12 of them high, so that it can be read on a phone.
pub const WIDTH: f64 = 360.0;
pub const HEIGHT: f64 = 258.0;
/// The strip of the phases: its top and its height.
pub const BANDS: (f64, f64) = (214.0, 20.0);

const LEFT: f64 = 34.0;
const RIGHT: f64 = 354.0;
/// The field of the temperatures, that of the humidity: top and bottom.
const WARMTH: (f64, f64) = (48.0, 150.0);
const DAMP: (f64, f64) = (164.0, 204.0);
/// The lines of the marks' words, and that of the legend.
const MARKS: [f64; 2] = [43.0, 29.0];
const LEGEND: f64 = 12.0;

/// A plot's axes.
pub struct Frame {
    from: Moment,
    to: Moment,
    low: f64,
    high: f64,
    ticks: Vec<(Moment, String)>,
}

impl Frame {
    /// The axes that hold all samples; None where none has any air.
    pub fn of(tell: Tell<'_>, samples: &[TraceSample]) -> Option<Self> {
        let (from, to) = (samples.first()?.at, samples.last()?.at);
        let values = samples.iter().filter_map(|sample| sample.air).flat_map(|air| {
            [Some(air.air), air.surface, air.dew].into_iter().flatten().map(|value| tell.degrees(value))
        });
        let values = values.filter(|value| value.is_finite() && value.abs() < 300.0);
        let (low, high) = values
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
        if low > high || from >= to {
            return None;
        }
        let more = ((6.0 - (high - low)) / 2.0).max(0.5);
        let (low, high) = ((low - more).floor(), (high + more).ceil());
        Some(Self { from, to, low, high, ticks: ticks(tell, from, to) })
    }

    /// Where a moment lies, from left to right.
    fn across(&self, moment: Moment) -> f64 {
        let share = (moment - self.from).as_seconds_f64() / (self.to - self.from).as_seconds_f64();
        round(LEFT + share.clamp(0.0, 1.0) * (RIGHT - LEFT))
    }

    /// Where a temperature lies, in the person's unit.
    pub fn height(&self, degrees: f64) -> f64 {
        let share = ((self.high - degrees) / (self.high - self.low)).clamp(0.0, 1.0);
        round(WARMTH.0 + share * (WARMTH.1 - WARMTH.0))
    }

    /// Where a humidity lies.
    pub fn damp(&self, humidity: Humidity) -> f64 {
        round(DAMP.1 - humidity.fraction().clamp(0.0, 1.0) * (DAMP.1 - DAMP.0))
    }

    /// The part of a stretch that lies in the plot, as its left end and its width.
    pub fn stretch(&self, from: Moment, to: Option<Moment>) -> Option<(f64, f64)> {
        let to = to.unwrap_or(self.to).min(self.to);
        let from = from.max(self.from);
        (from < to).then(|| {
            let (x, end) = (self.across(from), self.across(to));
            (x, round(end - x))
        })
    }

    /// A line over the samples, as far as its value is known: what was read, and what was assumed.
    pub fn paths(&self, samples: &[TraceSample], height: impl Fn(&AirSample) -> Option<f64>) -> [String; 2] {
        let mut paths = [String::new(), String::new()];
        let mut run: Vec<(f64, f64)> = Vec::new();
        let mut which = 0;
        for sample in samples {
            let Some((air, y)) = sample.air.and_then(|air| Some((air, height(&air)?))) else {
                draw_run(&mut paths[which], &run);
                run.clear();
                continue;
            };
            let point = (self.across(sample.at), y);
            let kind = usize::from(air.assumed);
            if kind != which {
                draw_run(&mut paths[which], &run);
                // The other line goes on from the last point.
                run.drain(..run.len().saturating_sub(1));
                which = kind;
            }
            run.push(point);
        }
        draw_run(&mut paths[which], &run);
        paths
    }

    /// The area between surface and dew point.
    pub fn between(&self, tell: Tell<'_>, samples: &[TraceSample]) -> String {
        let points = samples.iter().filter_map(|sample| {
            let air = sample.air?;
            let height = |value| self.height(tell.degrees(value));
            Some((self.across(sample.at), height(air.surface?), height(air.dew?)))
        });
        let points: Vec<(f64, f64, f64)> = points.collect();
        let there = points.iter().map(|(x, surface, _)| format!("{x} {surface}"));
        let back = points.iter().rev().map(|(x, _, dew)| format!("{x} {dew}"));
        let corners: Vec<String> = there.chain(back).collect();
        if corners.is_empty() { String::new() } else { format!("M{}Z", corners.join("L")) }
    }

    /// The scales with their lines.
    pub fn scales(&self, tell: Tell<'_>) -> Markup {
        let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
        let step = steps.into_iter().find(|step| (self.high - self.low) / step <= 5.0).unwrap_or(200.0);
        let first = (self.low / step).ceil() as i64;
        let last = (self.high / step).floor() as i64;
        let values = (first..=last).map(|count| count as f64 * step);
        html! {
            @for value in values {
                @let y = self.height(value);
                line.grid x1=(LEFT) y1=(y) x2=(RIGHT) y2=(y) {}
                text.quiet x=(LEFT - 5.0) y=(y + 4.0) text-anchor="end" { (value) }
            }
            text.quiet x="2" y=(LEGEND) { (tell.degree()) }
            @for percent in [0.0, 50.0, 100.0] {
                @let y = self.damp(Humidity::from_fraction(percent / 100.0));
                line.grid x1=(LEFT) y1=(y) x2=(RIGHT) y2=(y) {}
                text.quiet x=(LEFT - 5.0) y=(y + 4.0) text-anchor="end" { (percent) }
            }
            text.quiet x="2" y=(DAMP.0 + 16.0) { "%" }
            @for (moment, label) in &self.ticks {
                @let x = self.across(*moment);
                line.grid x1=(x) y1=(WARMTH.0) x2=(x) y2=(BANDS.0 + BANDS.1 + 3.0) {}
                text.quiet x=(x) y=(HEIGHT - 8.0) text-anchor="middle" { (label) }
            }
            rect.frame x=(LEFT) y=(WARMTH.0) width=(RIGHT - LEFT) height=(WARMTH.1 - WARMTH.0) {}
            rect.frame x=(LEFT) y=(DAMP.0) width=(RIGHT - LEFT) height=(DAMP.1 - DAMP.0) {}
        }
    }

    /// What the product allows, where that lies in the plot.
    pub fn limits(&self, tell: Tell<'_>, allowed: &Application) -> Markup {
        let inside = |value: Celsius| {
            let degrees = tell.degrees(value);
            (self.low < degrees && degrees < self.high).then(|| self.height(degrees))
        };
        let heights = [
            inside(allowed.coolest).map(|y| (y, y + 11.0, "coolest allowed")),
            inside(allowed.warmest).map(|y| (y, y - 3.0, "warmest allowed")),
            allowed.humidity_max.map(|most| (self.damp(most), self.damp(most) - 3.0, "")),
        ];
        html! {
            @for (y, text, word) in heights.into_iter().flatten() {
                line.limit x1=(LEFT) y1=(y) x2=(RIGHT) y2=(y) {}
                @if !word.is_empty() {
                    text.quiet x=(RIGHT - 4.0) y=(round(text)) text-anchor="end" { (word) }
                }
            }
        }
    }

    /// Moments with a word each; a word that would touch the one before is written above it, and where that
    /// does not help either, the later one has only its line.
    pub fn marks(&self, marks: &[(Moment, String)]) -> Markup {
        let mut free = [LEFT - 10.0; 2];
        let mut placed = Vec::new();
        for (moment, word) in marks.iter().filter(|mark| self.from < mark.0 && mark.0 < self.to) {
            let (x, half) = (self.across(*moment), word.chars().count() as f64 * 3.2);
            let at = x.clamp(LEFT + half, RIGHT - half);
            let row = free.iter().position(|free| at - half > *free);
            if let Some(row) = row {
                free[row] = at + half + 6.0;
            }
            placed.push((x, at, row.map(|row| (MARKS[row], word))));
        }
        html! {
            @for (x, at, word) in placed {
                @let top = word.map_or(WARMTH.0, |(y, _)| y + 2.0);
                line.mark x1=(x) y1=(top) x2=(x) y2=(BANDS.0 + BANDS.1) {}
                @if let Some((y, word)) = word {
                    text x=(round(at)) y=(y) text-anchor="middle" { (word) }
                }
            }
        }
    }

    /// What each line is.
    pub fn legend(&self, samples: &[TraceSample]) -> Markup {
        let known = |value: fn(&AirSample) -> bool| {
            samples.iter().any(|sample| sample.air.is_some_and(|air| value(&air)))
        };
        let mut all = vec![("air", "air"), ("surface", "surface")];
        if known(|sample| sample.dew.is_some()) {
            all.extend([("dew", "dew point"), ("humidity", "humidity")]);
        }
        let mut x = LEFT;
        let mut placed = Vec::new();
        for (class, word) in all {
            placed.push((x, class, word));
            x += 30.0 + word.chars().count() as f64 * 6.4;
        }
        html! {
            @for (x, class, word) in placed {
                path class={ "line " (class) } d={ "M" (round(x)) " " (LEGEND - 4.0) "h18" } {}
                text x=(round(x + 22.0)) y=(LEGEND) { (word) }
            }
        }
    }
}

/// The full hours at which the axis is labelled, so that the labels do not touch.
fn ticks(tell: Tell<'_>, from: Moment, to: Moment) -> Vec<(Moment, String)> {
    let civil = &tell.words().civil;
    let hours = (to - from).as_seconds_f64() / 3600.0;
    let step = [1, 2, 3, 6, 12, 24].into_iter().find(|step| hours / f64::from(*step) <= 6.0).unwrap_or(24);
    let past = TimeDelta::seconds(
        i64::from(civil.local(from).minute()) * 60 + i64::from(civil.local(from).second()),
    );
    let mut at = from - past;
    let mut ticks = Vec::new();
    while at <= to {
        let hour = civil.local(at).hour();
        if at >= from && hour.is_multiple_of(step) {
            let label = if hour == 0 { civil.weekday(at) } else { civil.time_of_day(at) };
            ticks.push((at, label));
        }
        at += TimeDelta::hours(1);
    }
    ticks
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// What lies this close to a line, in units of the picture, is on it: a screen shows no difference.
const ON_THE_LINE: f64 = 0.2;

/// A run of points as a part of a path, without those that a line through the others shows.
fn draw_run(path: &mut String, points: &[(f64, f64)]) {
    let mut command = 'M';
    for (x, y) in thinned(points) {
        *path += &format!("{command}{x} {y}");
        command = 'L';
    }
}

/// The points that a line through them needs: Ramer (1972), Douglas and Peucker (1973).
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut kept = vec![false; points.len()];
    (kept[0], kept[points.len() - 1]) = (true, true);
    let mut spans = vec![(0, points.len() - 1)];
    while let Some((from, to)) = spans.pop() {
        let (a, b) = (points[from], points[to]);
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        let off = |point: (f64, f64)| match length {
            0.0 => (point.0 - a.0).hypot(point.1 - a.1),
            _ => ((b.0 - a.0) * (point.1 - a.1) - (b.1 - a.1) * (point.0 - a.0)).abs() / length,
        };
        let between = (from + 1..to).map(|index| (index, off(points[index])));
        if let Some((index, most)) = between.max_by(|one, other| one.1.total_cmp(&other.1))
            && most > ON_THE_LINE
        {
            kept[index] = true;
            spans.extend([(from, index), (index, to)]);
        }
    }
    points.iter().zip(kept).filter(|(_, kept)| *kept).map(|(point, _)| *point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_keeps_what_can_be_seen_and_no_more() {
        assert_eq!(thinned(&[]), []);
        assert_eq!(thinned(&[(1.0, 2.0)]), [(1.0, 2.0)]);
        let straight: Vec<_> = (0..100).map(|x| (f64::from(x), 5.0 + f64::from(x % 2) * 0.1)).collect();
        assert_eq!(thinned(&straight), [(0.0, 5.0), (99.0, 5.1)]);
        let peak = [(0.0, 0.0), (1.0, 0.1), (2.0, 4.0), (3.0, 0.1), (4.0, 0.0)];
        assert_eq!(thinned(&peak), peak);
        let wave: Vec<_> =
            (0..1000).map(|x| (f64::from(x) * 0.3, (f64::from(x) / 50.0).sin() * 40.0)).collect();
        let kept = thinned(&wave);
        assert!((20..150).contains(&kept.len()), "{}", kept.len());
        for (x, y) in wave {
            let after = kept.partition_point(|point| point.0 <= x).clamp(1, kept.len() - 1);
            let (a, b) = (kept[after - 1], kept[after]);
            let drawn = a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0);
            // Measured along the height, a steep line is off by more than across it.
            assert!((drawn - y).abs() < 1.0, "{x}: {drawn} for {y}");
        }
    }
}
