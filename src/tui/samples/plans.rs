//! A plan made by hand: a roof and a door over a week.

use crate::app::view::{PlanDay, PlanLine, PlanShown, PlanView};

fn line(time: &str, what: &str, not_earlier: &str) -> PlanLine {
    PlanLine { time: time.into(), what: what.into(), not_earlier: not_earlier.into(), enters: None }
}

/// A plan with two coats in one evening and an extra sanding.
pub fn plan() -> PlanView {
    let day = |day: &str, lines: Vec<PlanLine>| PlanDay { day: day.into(), lines };
    PlanView {
        summary: vec![
            "In service Mon 15 Jun 18:40, calculated on the safe side.".into(),
            "Work ends Fri 8 May 21:45; 8 h 50 min of work, 43 d 11 h of waiting; one extra sanding because no free hour falls in a window.".into(),
            "No plan ends earlier with as little work.".into(),
            "In 200 simulations of the weather (seed 1): half end by Sun 14 Jun 22:14, nine in ten by Mon 15 Jun 14:40; your pace is assumed to vary by 15 %.".into(),
            "The last 7 d moved the end from Fri 12 Jun 10:00 to Mon 15 Jun 18:40: 3 d 8 h later.".into(),
        ],
        days: vec![
            day("Sat 2 May", vec![
                line("17:00-17:30", "roof: coat 2 of epoxy-sealer, wet on wet, done by 19:05", "it starts at once"),
                line("17:30-17:55", "window frames: sand before coat 2", "you are coating roof"),
            ]),
            day("Mon 4 May", vec![
                line("18:30-18:45", "roof: wash before it is sanded", "the film can be sanded from Sun 21:25; no earlier free time is long enough"),
                line("18:45-19:45", "roof: sand before coat 3", "the step before it ends at 18:45"),
                line("20:15-20:40", "door, outside: sand (extra) before coat 2", "the film can be sanded from Sun 16:10; you are coating roof"),
                line("20:40-21:05", "door, outside: coat 2 of varnish-two-part", "the step before it ends at 20:40"),
            ]),
            day("Thu 7 May", vec![
                line("18:30-18:55", "floor: coat 3 of oil-penetrating, wet on wet, done by Wed 24 Jun 03:45", "the film can be recoated from Mon 15:15; Wed 21:35: the surface comes within 3.0 K of the dew point"),
                line("18:55-19:20", "window frames: coat 3 of enamel-alkyd", "the step before it ends at Wed 18:55; you are coating floor"),
            ]),
            day("Fri 8 May", vec![
                line("18:30-18:55", "door, outside: coat 3 of varnish-two-part", "no earlier free time is long enough"),
                line("21:10-21:35", "door, outside: coat 4 of varnish-two-part, wet on wet, done by Sat 9 May 05:20", "the film can be recoated from 21:08"),
                line("21:35-21:45", "door, outside: tape off, by Sat 9 May 00:00", "the step before it ends at 21:35"),
            ]),
        ],
        ready: vec!["door, outside: may be handled from Sun 10 May 06:15, in service Sun 24 May 11:05".into()],
        materials: vec![
            "epoxy-sealer, one coat: 525 g (521 mL), about 21.00 EUR.".into(),
            "About 21.00 EUR in all at the prices paid, without enamel-alkyd (price unknown).".into(),
        ],
        assumed: vec!["from Fri 8 May on, beyond the forecast: in the shop the average of the last 6".into()],
    }
}

/// The plan when it is there.
pub fn planned() -> PlanShown {
    PlanShown { view: Some(Ok(plan())), ..PlanShown::default() }
}
