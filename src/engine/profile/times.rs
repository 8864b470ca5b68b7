//! Reads a time table: `[{ at = 10, time = "4 h" }, { at = 20, time = "2 h" }]`.

use toml::Spanned;

use super::file::{POINT, Section};
use super::table::{Point, Range, TimeTable};
use super::value::{self, DATA_SHEET, Span, degrees};
use crate::engine::units::{ActivationEnergy, Celsius, GAS_CONSTANT, duration_text};

/// What reactions and drying are found to have. More is a slip: hours taken for minutes, say.
pub(super) const ENERGY: Span = Span::from_to(5.0, 250.0, "kJ/mol");
const STEEPEST: f64 = 300.0;

/// The table of a key. A range counts on the safe side: a maximum time (the close of a window, the tape,
/// a pot life) at its lower end, a minimum time at its upper end. None where the key is left out or its table has a fault.
pub(super) fn table(section: &Section<'_>, key: &'static str, energy: ActivationEnergy) -> Option<TimeTable> {
    let faults = section.faults();
    let wanted = format!("{key} = [{{ at = 20, time = \"4 h\" }}]");
    let value = section.value(key)?;
    let Some(lines) = value.get_ref().as_array() else {
        faults.add(&value.span(), format!("`{key}` is not a list of times"), format!("write {wanted}"));
        return None;
    };
    if lines.is_empty() {
        faults.add(&value.span(), format!("`{key}` is an empty list"), format!("write {wanted}"));
        return None;
    }
    let maximum = matches!(key, "close" | "tape_by" | "times");
    let mut points: Vec<Spanned<Point>> = Vec::new();
    let mut ranges = Vec::new();
    let mut sound = true;
    for line in lines {
        let Some(fields) = line.get_ref().as_table() else {
            let mend = "write { at = 20, time = \"4 h\" }";
            faults.add(&line.span(), format!("`{key}`: this is not a temperature with its time"), mend);
            sound = false;
            continue;
        };
        let fields = Section::new(fields, line.span(), &POINT, faults);
        let at = fields.required("at", "at = 20, the temperature", |v| value::temperature(v, DATA_SHEET));
        let time = fields.required("time", "time = \"4 h\"", value::times);
        let (Some(at), Some((shortest, longest))) = (at, time) else {
            sound = false;
            continue;
        };
        if shortest < longest {
            ranges.push(Range { at, shortest, longest });
        }
        let time = if maximum { shortest } else { longest };
        let point = Point { at, time };
        if let Some(before) = points.last() {
            sound &= follows(before.get_ref(), &point, key, &fields);
        }
        points.push(Spanned::new(line.span(), point));
    }
    if !sound {
        return None;
    }
    let points = points.into_iter().map(Spanned::into_inner).collect();
    match TimeTable::new(points, energy) {
        Ok(table) => Some(table.with_ranges(ranges)),
        Err(error) => {
            faults.add(&value.span(), format!("`{key}`: {error}"), format!("write {wanted}"));
            None
        }
    }
}

/// Whether a point can come after the one before; if not, it is reported.
fn follows(before: &Point, point: &Point, key: &str, fields: &Section<'_>) -> bool {
    let faults = fields.faults();
    if point.at <= before.at {
        let what = format!("`{key}`: the temperatures do not rise from point to point");
        faults.add(&fields.place("at"), what, "put the coolest first, and each temperature once");
        return false;
    }
    let (cool, warm) = (degrees(before.at), degrees(point.at));
    let (longer, shorter) = (duration_text(before.time), duration_text(point.time));
    if point.time > before.time {
        let what = format!("`{key}`: {shorter} at {warm} is longer than {longer} at {cool}");
        faults.add(&fields.place("time"), what, "a time must not grow with temperature");
        return false;
    }
    if energy_between(before, point) > STEEPEST {
        let what =
            format!("`{key}`: from {longer} at {cool} to {shorter} at {warm} is too steep to be plausible");
        faults.add(&fields.place("time"), what, "check the units of both times");
        return false;
    }
    true
}

/// The activation energy in kJ/mol that two points speak of.
fn energy_between(cool: &Point, warm: &Point) -> f64 {
    let reciprocal = |at: Celsius| 1.0 / at.kelvin();
    let ratio = cool.time.num_milliseconds() as f64 / warm.time.num_milliseconds() as f64;
    ratio.ln() / (reciprocal(cool.at) - reciprocal(warm.at)) * GAS_CONSTANT / 1000.0
}
