use super::*;

fn moment(text: &str) -> Moment {
    text.parse().unwrap()
}

#[test]
fn a_countdown_stops_at_zero_and_shows_days() {
    let countdown = Countdown { to: moment("2026-05-02T18:35:12Z"), label: String::new() };
    assert_eq!(countdown.digits(moment("2026-05-02T18:00:00Z")), "0:35:12");
    assert_eq!(countdown.digits(moment("2026-05-02T19:00:00Z")), "0:00:00");
    assert_eq!(countdown.digits(moment("2026-04-30T15:25:12Z")), "2 d 03:10:00");
}
