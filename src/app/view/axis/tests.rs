use super::*;
use crate::engine::units::ClockFace;

fn moment(text: &str) -> Moment {
    text.parse().unwrap()
}

#[test]
fn the_axis_has_now_a_quarter_from_the_left() {
    let now = moment("2026-05-02T18:00:00Z");
    let axis = Axis::new(now, 2, 0, 80, &Civil::utc());
    assert_eq!(axis.share(now), 0.25);
    assert_eq!(axis.ticks.first().map(|(_, label)| label.as_str()), Some("15"));
    assert!(axis.ticks.iter().any(|(_, label)| label == "Sun"));
}

#[test]
fn the_day_of_a_clock_change_has_an_hour_more_or_less_on_the_axis() {
    let berlin = Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour);
    let labels = |now: &str| -> Vec<String> {
        Axis::new(moment(now), 2, 0, 120, &berlin).ticks.into_iter().map(|(_, label)| label).collect()
    };
    let autumn = labels("2026-10-24T22:00:00Z");
    assert_eq!(autumn.iter().filter(|label| *label == "02").count(), 2, "{autumn:?}");
    let spring = labels("2026-03-28T22:00:00Z");
    assert_eq!(spring.iter().filter(|label| *label == "02").count(), 0, "{spring:?}");
}

#[test]
fn every_zoom_has_room_for_its_labels() {
    let now = moment("2026-05-02T18:20:00Z");
    for zoom in 0..Axis::ZOOMS {
        for columns in [30, 60, 80, 120, 200] {
            let axis = Axis::new(now, zoom, 0, columns, &Civil::utc());
            let cells: Vec<f64> =
                axis.ticks.iter().map(|(at, _)| axis.share(*at) * f64::from(columns)).collect();
            assert!(
                cells.windows(2).all(|pair| pair[1] - pair[0] >= 4.0),
                "zoom {zoom}, {columns}: {cells:?}"
            );
            assert!(!axis.ticks.is_empty() || zoom == 0, "zoom {zoom}, {columns}");
        }
    }
}
