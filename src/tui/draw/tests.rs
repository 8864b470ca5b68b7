//! Whole screens.

use insta::assert_snapshot;
use ratatui::style::{Color, Modifier};

use super::*;
use crate::app::session::{Done, Refused};
use crate::app::view::PlanShown;
use crate::tui::app::Event;
use crate::tui::samples::*;

fn shown(view: View, keys: &str) -> App {
    let mut app = App::showing(view);
    press(&mut app, keys);
    app
}

fn see(app: &App, width: u16, height: u16) -> String {
    text(&drawn(app, width, height, ColorMode::Auto))
}

#[test]
fn the_board_at_four_sizes() {
    let app = shown(hut(), "");
    assert_snapshot!("board_80x24", see(&app, 80, 24));
    assert_snapshot!("board_120x40", see(&app, 120, 40));
    assert_snapshot!("board_200x50", see(&app, 200, 50));
    assert_snapshot!("board_40x12", see(&app, 40, 12));
    assert_snapshot!("tiny_30x6", see(&app, 30, 6));
}

#[test]
fn the_board_close_up_and_moved() {
    assert_snapshot!("close_80x24", see(&shown(hut(), "++"), 80, 24));
    assert_snapshot!("moved_80x24", see(&shown(hut(), "j<Right><Right>"), 80, 24));
}

#[test]
fn a_job_in_which_nothing_has_happened() {
    assert_snapshot!("empty_80x24", see(&shown(empty(), ""), 80, 24));
    assert_snapshot!("empty_40x12", see(&shown(empty(), ""), 40, 12));
}

#[test]
fn many_areas() {
    assert_snapshot!("crowd_80x24", see(&shown(crowd(), "j"), 80, 24));
    assert_snapshot!("many_80x24", see(&shown(fleet(), "jjjjj"), 80, 24));
    assert_snapshot!("many_40x12", see(&shown(fleet(), "jjjjj"), 40, 12));
    assert_snapshot!("many_200x50", see(&shown(fleet(), ""), 200, 50));
}

#[test]
fn alerts() {
    assert_snapshot!("banners_80x24", see(&shown(alarmed(), ""), 80, 24));
    assert_snapshot!("alerts_80x24", see(&shown(alarmed(), "lj"), 80, 24));
}

#[test]
fn whether_the_air_suits_what_is_there_and_what_comes() {
    let app = shown(damp_hut(), "");
    for (name, width, height) in
        [("air_80x24", 80, 24), ("air_120x40", 120, 40), ("air_40x12", 40, 12), ("air_80x14", 80, 14)]
    {
        assert_snapshot!(name, see(&app, width, height));
    }
    assert_snapshot!("air_30x9", see(&app, 30, 9));
}

#[test]
fn forms() {
    assert_snapshot!("coat_80x24", see(&shown(hut(), "c"), 80, 24));
    assert_snapshot!("coat_40x12", see(&shown(hut(), "c"), 40, 12));
    assert_snapshot!("coat_new_area_80x24", see(&shown(hut(), "cBench"), 80, 24));
    assert_snapshot!("coat_product_80x24", see(&shown(hut(), "cBench<Enter>varn"), 80, 24));
    assert_snapshot!("finish_80x24", see(&shown(hut(), "f"), 80, 24));
    assert_snapshot!("reading_wrong_80x24", see(&shown(hut(), "t17,5<Tab>101<Enter>"), 80, 24));
    assert_snapshot!("step_80x24", see(&shown(hut(), "s"), 80, 24));
    assert_snapshot!("step_chosen_80x24", see(&shown(hut(), "sp"), 80, 24));
    assert_snapshot!("undo_80x24", see(&shown(hut(), "u"), 80, 24));
}

#[test]
fn the_plan_and_why_a_step_is_not_earlier() {
    let with = |plan: PlanShown, keys: &str| {
        let mut app = shown(hut(), "p");
        knowing(now(), |known| app.handle(Event::Planned(plan), known));
        press(&mut app, keys);
        app
    };
    let app = with(planned(), "jj");
    assert_snapshot!("plan_80x24", see(&app, 80, 24));
    assert_snapshot!("plan_200x50", see(&app, 200, 50));
    assert_snapshot!("plan_40x12", see(&app, 40, 12));
    assert_snapshot!("plan_end_80x24", see(&with(planned(), "jjjjjjjjjjjjjjjj"), 80, 24));
    assert_snapshot!(
        "plan_working_80x24",
        see(&with(PlanShown { working: true, ..PlanShown::default() }, ""), 80, 24)
    );
    let again = PlanShown { working: true, ..planned() };
    assert!(see(&with(again, ""), 80, 24).contains("calculating again"));
    let none = "no free hour in the next 90 days; say when you are free under [free]".to_owned();
    let none = PlanShown { view: Some(Err(none)), ..PlanShown::default() };
    assert_snapshot!("plan_none_40x12", see(&with(none, ""), 40, 12));
    assert_eq!(with(planned(), "<Esc>").page, Page::Board);
    for (width, height) in [(1, 1), (8, 3), (20, 5), (30, 6)] {
        see(&app, width, height);
    }
}

#[test]
fn batches() {
    assert_snapshot!("pots_80x24", see(&shown(mixed(), ""), 80, 24));
    assert_snapshot!("pots_40x12", see(&shown(mixed(), ""), 40, 12));
    assert_snapshot!("pots_120x40", see(&shown(mixed(), ""), 120, 40));
    assert_snapshot!("pots_big_80x24", see(&shown(mixed(), "b"), 80, 24));
    assert_snapshot!("mix_80x24", see(&shown(mixed(), "m"), 80, 24));
    assert_snapshot!("emptied_80x24", see(&shown(mixed(), "e"), 80, 24));
    assert_snapshot!("coat_from_batch_80x24", see(&shown(mixed(), "c<BackTab><Down>"), 80, 24));
}

#[test]
fn a_question_is_read_to_its_end() {
    let question = "600 g of epoxy-laminating-slow in a cup: DANGER: in the cup it gets as hot as 62 °C while you work, and about 200 °C if it is left: fumes, burns, fire. Safe would be: 400 g at a time in a cup; or all of it in a tray, no deeper than 9 mm.";
    let mut app = shown(mixed(), "m600<Enter>");
    let refused = Refused { says: question.into(), asks: true };
    knowing(now(), |known| app.handle(Event::Carried(Err(refused)), known));
    assert_snapshot!("asked_80x24", see(&app, 80, 24));
    assert_snapshot!("asked_40x12", see(&app, 40, 12));
    let seen = see(&app, 80, 24).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(seen.contains("no deeper than 9 mm. Enter again records it anyway."), "{seen}");
}

#[test]
fn pages() {
    assert_snapshot!("help_80x24", see(&shown(hut(), "?"), 80, 24));
    assert_snapshot!("help_120x40", see(&shown(hut(), "?"), 120, 40));
    assert_snapshot!("details_80x24", see(&shown(hut(), "<Enter>"), 80, 24));
    assert_snapshot!("big_80x24", see(&shown(hut(), "b"), 80, 24));
    assert_snapshot!("big_40x12", see(&shown(hut(), "b"), 40, 12));
    assert_snapshot!("big_200x50", see(&shown(alarmed(), "b"), 200, 50));
}

#[test]
fn what_was_done_and_its_cautions() {
    let done = Done {
        says: "Roof: coat 3 of primer-two-part began at 16:00.".into(),
        cautions: vec![
            "Epoxy sensitises the skin: gloves on, wash with soap and not with solvent.".into(),
            "Your product's own data sheet and safety data sheet, local rules and licensed practice come first."
                .into(),
        ],
    };
    let mut app = shown(hut(), "c<Enter>");
    knowing(now(), |known| app.handle(Event::Carried(Ok(done)), known));
    assert_snapshot!("done_80x24", see(&app, 80, 24));
    let mut app = shown(hut(), "");
    knowing(now(), |known| {
        app.handle(Event::Seen(Err("the job is locked by another process.".into())), known)
    });
    assert_snapshot!("trouble_80x24", see(&app, 80, 24));
}

#[test]
fn the_record() {
    assert_snapshot!("record_80x24", see(&shown(hut(), "r"), 80, 24));
    assert_snapshot!("record_120x40", see(&shown(hut(), "rjjjjjjj"), 120, 40));
    assert_snapshot!("record_40x12", see(&shown(hut(), "rjj"), 40, 12));
    assert_snapshot!("record_area_80x24", see(&shown(hut(), "r<Right>"), 80, 24));
    assert_snapshot!("record_undo_80x24", see(&shown(hut(), "rjju"), 80, 24));
    assert_snapshot!("record_correct_80x24", see(&shown(hut(), "rjjc"), 80, 24));
    assert_snapshot!("record_struck_80x24", see(&shown(hut(), "rjjjjjju"), 80, 24));
    assert_snapshot!("record_note_80x24", see(&shown(hut(), "rjn"), 80, 24));
    assert_snapshot!("record_coat_80x24", see(&shown(hut(), "rjjj<Enter>"), 80, 24));
    assert_snapshot!("record_coat_200x50", see(&shown(hut(), "rjjj<Enter>"), 200, 50));
    assert_snapshot!("record_coat_40x12", see(&shown(hut(), "rjjj<Enter>"), 40, 12));
    assert_snapshot!("work_80x24", see(&shown(hut(), "d"), 80, 24));
    assert_snapshot!("note_80x24", see(&shown(hut(), "n"), 80, 24));
}

/// Every state that looks different.
fn states() -> Vec<App> {
    let keys = [
        "",
        "<Right>",
        "g",
        "gjjj",
        "gi",
        "i80 x",
        "o",
        "c",
        "cx<Tab>",
        "t999<Enter>",
        "ss",
        "u",
        "?",
        "<Enter>",
        "l",
        "b",
        "bc",
    ];
    let on = |view: fn() -> View| keys.map(|keys| shown(view(), keys)).into_iter();
    let mut states: Vec<App> = on(hostile).collect();
    states.extend(
        [hut_weather, hut_without_forecast, hut_unread, hostile_weather, hostile]
            .map(|view| shown(view(), "w")),
    );
    states.extend([hut_weather, hostile_weather].map(|view| shown(view(), "wvjjj<Right>")));
    states.extend(["", "m", "e", "b", "m<Tab><Tab>"].map(|keys| shown(mixed(), keys)));
    let keys = ["r", "r<Right>jj", "rjjc", "rjju", "rjn", "rjjj<Enter>", "rjjj<Enter>jjj", "d", "n"];
    states.extend(keys.map(|keys| shown(hostile(), keys)));
    states.extend([shown(fleet(), "jjjjjjj"), shown(empty(), ""), shown(empty(), "b")]);
    let mut told = shown(hostile(), "");
    let done = Done { says: "x ".repeat(300), cautions: vec!["y".repeat(300); 4] };
    knowing(now(), |known| told.handle(Event::Carried(Ok(done)), known));
    states.push(told);
    states
}

#[test]
fn no_size_makes_it_panic() {
    for app in states() {
        for width in (1..=45).chain((46..=100).step_by(6)) {
            for height in (1..=26).chain((27..=40).step_by(4)) {
                drawn(&app, width, height, ColorMode::Auto);
            }
        }
    }
}

#[test]
fn nothing_drives_the_terminal() {
    for app in states() {
        let seen = see(&app, 90, 30);
        assert!(!seen.chars().any(|c| c.is_control() && c != '\n'), "{seen:?}");
    }
}

#[test]
fn without_colour_the_screen_says_the_same() {
    for keys in ["", "c", "t999<Enter>", "?", "<Enter>", "l", "b"] {
        let app = shown(alarmed(), keys);
        let plain = drawn(&app, 80, 24, ColorMode::None);
        let contrast = drawn(&app, 80, 24, ColorMode::Contrast);
        assert_eq!(text(&plain), see(&app, 80, 24));
        for cell in plain.content.iter().chain(&contrast.content) {
            assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset));
        }
        assert!(contrast.content.iter().all(|cell| !cell.modifier.contains(Modifier::DIM)));
    }
}

#[test]
fn colours_are_few_and_never_in_the_background() {
    let allowed = [Color::Reset, Color::Blue, Color::Yellow, Color::Cyan];
    for app in states() {
        for cell in &drawn(&app, 120, 40, ColorMode::Auto).content {
            assert!(allowed.contains(&cell.fg), "{:?}", cell.fg);
            assert_eq!(cell.bg, Color::Reset);
        }
    }
}

#[test]
fn an_alert_that_insists_is_reversed_as_a_whole_and_the_others_by_their_word() {
    let buf = drawn(&shown(alarmed(), ""), 80, 24, ColorMode::None);
    let reversed = |y: u16| (0..80).filter(|x| buf[(*x, y)].modifier.contains(Modifier::REVERSED)).count();
    let row = |word: &str| {
        let at = text(&buf).lines().position(|line| line.contains(word));
        u16::try_from(at.unwrap()).unwrap()
    };
    assert_eq!(reversed(row("LAST CALL")), 78);
    assert_eq!(reversed(row("the third coat may go on")), " OPEN ".len());
}

#[test]
fn what_is_not_sure_is_dim_and_what_is_open_is_bold() {
    let buf = drawn(&shown(hut(), "++"), 80, 24, ColorMode::None);
    let of = |letter: &str, past: bool| {
        let cells = (0..80).filter(|x| (*x < 20) == past).map(|x| &buf[(x, 4)]);
        cells.filter(|cell| cell.symbol() == letter).map(|cell| cell.modifier).collect::<Vec<_>>()
    };
    assert!(of("═", false).iter().any(|style| style.contains(Modifier::BOLD)));
    assert!(of("~", false).iter().any(|style| style.contains(Modifier::DIM)), "thinned out");
    assert!(of("~", true).iter().all(|style| style.contains(Modifier::DIM)), "past");
}

#[test]
fn the_cursor_is_where_the_person_types() {
    let cursor = |keys: &str, (width, height): (u16, u16)| {
        let app = shown(hut(), keys);
        let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
        let theme = Theme::new(ColorMode::Auto);
        let cursor = screen(&Sight { app: &app, civil: &Civil::utc(), theme }, &mut buf).cursor;
        cursor.map(|at| {
            let line = text(&buf).lines().nth(usize::from(at.y)).unwrap_or_default().to_owned();
            (at.x, line.split_whitespace().take(3).collect::<Vec<_>>().join(" "))
        })
    };
    assert_eq!(cursor("", (80, 24)), None);
    assert_eq!(cursor("t17,5", (80, 24)), Some((20, "> air 17,5".into())));
    assert_eq!(cursor("cro", (80, 24)), Some((18, "> area ro".into())));
}

#[test]
fn a_picture_is_what_the_board_shows() {
    let picture = picture(&hut(), &Civil::utc(), (80, 24), ColorMode::Auto);
    assert_eq!(text(&picture), see(&shown(hut(), ""), 80, 24));
}
