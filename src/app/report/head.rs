//! One coat of a report, for a screen: the same figures as in the report.

use super::facts::Report;
use super::text::Tell;
use crate::app::view::CoatView;
use crate::app::wording::Words;
use crate::engine::job::EntryId;
use crate::engine::units::{capital, clean};

/// The coat whose first stroke is this entry; None where it is none, or its product is not known.
pub fn coat_view(report: &Report, entry: EntryId, words: &Words) -> Option<CoatView> {
    let (area, coat) = report.coats().chain(report.taken_off()).find(|(_, coat)| coat.id == entry)?;
    let calculated = coat.calculated.as_ref()?;
    let tell = Tell::new(words);
    let mut lines: Vec<String> =
        coat.findings.iter().map(|found| format!("! {}", tell.finding(found))).collect();
    lines.extend(tell.facts(coat).into_iter().map(|(name, value)| format!("{name}: {value}")));
    if let Some(air) = &calculated.air {
        let figures = tell.figures(air).into_iter();
        lines.extend(
            figures.map(|[name, low, mean, high]| format!("{name} while wet: {low} … {high}, mean {mean}")),
        );
        lines.push(tell.read(air));
    }
    for (stage, times) in &calculated.stages {
        let [earliest, at, latest] = tell.moments(times);
        lines.push(format!("{}: {at} ({earliest} … {latest})", Tell::stage(*stage)));
    }
    lines.extend(calculated.assumed.iter().map(|assumed| format!("Assumed: {}", tell.assumption(assumed))));
    lines.extend(coat.steps.iter().map(|step| format!("Then: {}", tell.step(step))));
    lines.extend(coat.notes.iter().map(|note| format!("Note, {}", tell.note(note))));
    Some(CoatView {
        title: format!("{}, {}", capital(&clean(&area.name)), Tell::coat(coat).replacen("Coat", "coat", 1)),
        trace: calculated.trace.clone(),
        bands: calculated.bands.clone(),
        lines,
    })
}
