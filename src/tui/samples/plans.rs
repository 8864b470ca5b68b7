//! A plan made by hand: a roof and a door over a week.

use crate::app::view::{PlanDay, PlanLine, PlanShown, PlanView};

fn line(time: &str, what: &str, not_earlier: &str) -> PlanLine {
    PlanLine { time: time.into(), what: what.into(), not_earlier: not_earlier.into() }
}

/// A plan with two coats in one evening and a sanding that is owed.
pub fn plan() -> PlanView {
    let day = |day: &str, lines: Vec<PlanLine>| PlanDay { day: day.into(), lines };
    PlanView {
        summary: vec![
            "In service Mon 15 Jun 18:40, reckoned on the safe side.".into(),
            "Last work Fri 8 May 21:45; 8 h 50 min of work, 43 d 11 h of waiting; one sanding owed because no free hour falls in a window.".into(),
            "No plan ends sooner with as little work.".into(),
            "In 200 draws of the weather (seed 1): half end by Sun 14 Jun 22:14, nine in ten by Mon 15 Jun 14:40; 15 % taken for how your pace strays.".into(),
            "The last 7 d moved the end from Fri 12 Jun 10:00 to Mon 15 Jun 18:40: 3 d 8 h later.".into(),
        ],
        days: vec![
            day("Sat 2 May", vec![
                line("17:00-17:30", "roof: coat 2 of epoxy-sealer, on the open film, done by 19:05", "it begins at once"),
                line("17:30-17:55", "window frames: sand before coat 2", "you are coating roof"),
            ]),
            day("Mon 4 May", vec![
                line("18:30-18:45", "roof: wash before it is sanded", "the film can be sanded from Sun 21:25; no free hour before that is long enough"),
                line("18:45-19:45", "roof: sand before coat 3", "the step before it ends at 18:45"),
                line("20:15-20:40", "door, outside: sand (owed) before coat 2", "the film can be sanded from Sun 16:10; you are coating roof"),
                line("20:40-21:05", "door, outside: coat 2 of varnish-two-part", "the step before it ends at 20:40"),
            ]),
            day("Thu 7 May", vec![
                line("18:30-18:55", "floor: coat 3 of oil-penetrating, on the open film, done by Wed 24 Jun 03:45", "the film under it is open from Mon 15:15; Wed 21:35: the surface comes within 3.0 K of the dew point"),
                line("18:55-19:20", "window frames: coat 3 of enamel-alkyd", "the step before it ends at Wed 18:55; you are coating floor"),
            ]),
            day("Fri 8 May", vec![
                line("18:30-18:55", "door, outside: coat 3 of varnish-two-part", "no free hour before that is long enough"),
                line("21:10-21:35", "door, outside: coat 4 of varnish-two-part, on the open film, done by Sat 9 May 05:20", "the film under it is open from 21:08"),
                line("21:35-21:45", "door, outside: tape off, by Sat 9 May 00:00", "the step before it ends at 21:35"),
            ]),
        ],
        ready: vec!["door, outside: may be handled from Sun 10 May 06:15, in service Sun 24 May 11:05".into()],
        materials: vec![
            "epoxy-sealer, one coat: 525 g (521 mL), about 21.00 EUR.".into(),
            "About 21.00 EUR in all at the prices that were paid, without enamel-alkyd, of which no price is known.".into(),
        ],
        assumed: vec!["from Fri 8 May on the air is not foreseen: in the shop the mean day of the last 6".into()],
    }
}

/// The plan when it is there.
pub fn planned() -> PlanShown {
    PlanShown { view: Some(Ok(plan())), ..PlanShown::default() }
}
