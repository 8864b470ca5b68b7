//! What an earlier issue of a calendar announced and the present one does not any more.

use calcard::icalendar::{ICalendar, ICalendarComponent, ICalendarProperty, ICalendarValue};

use super::identity::Issue;
use super::{Event, PRODUCT};
use crate::engine::units::Moment;

/// Whether a text is a calendar that this program wrote.
pub fn is_own(text: &str) -> bool {
    let calendar = ICalendar::parse(text).ok();
    let head = calendar.as_ref().and_then(|calendar| calendar.components.first());
    let product = head.and_then(|head| head.property(&ICalendarProperty::Prodid)?.values.first()?.as_text());
    product == Some(PRODUCT)
}

/// The events of the same job that lie ahead in an earlier issue and are not among the present ones: called
/// off, so that they vanish with the next import.
pub fn gone(earlier: &str, present: &[Event], issue: Issue) -> Vec<Event> {
    let parts = ICalendar::parse(earlier).map(|calendar| calendar.components).unwrap_or_default();
    let events = parts.iter().filter(|part| part.component_type.is_event());
    events
        .filter(|event| {
            let uid = event.uid().unwrap_or_default();
            issue.job.owns(uid) && !present.iter().any(|known| known.uid == uid)
        })
        .filter_map(|event| called_off(event, issue))
        .filter(|event| event.end() > issue.at)
        .collect()
}

fn called_off(event: &ICalendarComponent, issue: Issue) -> Option<Event> {
    let before = match event.property(&ICalendarProperty::Sequence)?.values.first()? {
        ICalendarValue::Integer(number) => u32::try_from(*number).ok()?,
        _ => return None,
    };
    Some(Event {
        uid: event.uid()?.to_owned(),
        sequence: issue.sequence.max(before.saturating_add(1)),
        stamp: issue.at,
        from: moment(event, &ICalendarProperty::Dtstart)?,
        to: moment(event, &ICalendarProperty::Dtend),
        title: event.property(&ICalendarProperty::Summary)?.values.first()?.as_text()?.to_owned(),
        lines: Vec::new(),
        busy: false,
        alarms: Vec::new(),
        cancelled: true,
    })
}

fn moment(event: &ICalendarComponent, name: &ICalendarProperty) -> Option<Moment> {
    let value = event.property(name)?.values.first()?;
    Some(value.as_partial_date_time()?.to_date_time()?.date_time.and_utc())
}
