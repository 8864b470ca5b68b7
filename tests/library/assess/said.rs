//! What is said in each place, held against each other.

use curewright::app::json::Status;
use curewright::app::view::{View, WeatherView};
use curewright::app::wording::{Check, Words};
use curewright::engine::assess::{Answer, Judgement, Memory, Survey, SurveyOptions, Verdict, due};
use curewright::engine::config::Config;
use curewright::engine::cure::Phase;
use curewright::engine::job::Job;
use curewright::engine::job::{Alert, AlertId, AlertKind};
use curewright::engine::profile::Library;
use curewright::engine::units::{Civil, Moment, Units};
use curewright::tui::{ColorMode, picture};
use serde_json::Value;

use super::world::World;

/// A figure this near its limit may be told as on either side of it: status rounds to a hundredth.
const ROUNDED: f64 = 0.011;

fn words() -> Words {
    Words { civil: Civil::utc(), units: Units::default() }
}

fn survey<'a>(world: &World, now: Moment, library: &'a Library) -> Survey<'a> {
    let job = Job::fold(&world.entries, now);
    match Survey::make(&job, library, world, &Config::default(), now, SurveyOptions::default()) {
        Ok(survey) => survey,
        Err(never) => match never {},
    }
}

fn raised(survey: &Survey<'_>, now: Moment) -> Vec<Alert> {
    let config = Config::default();
    let memory = Memory { alerts: &[], windows: &[] };
    let due = due(survey, memory, &config.leads, config.reading_old, now);
    let raising = words().raising(survey, due, now);
    let alert = |(index, new): (usize, curewright::engine::job::NewAlert)| Alert {
        id: AlertId(index as i64),
        kind: new.kind,
        subject: new.subject,
        round: new.round,
        area: new.area,
        due: new.due,
        raised: now,
        repeat: 0,
        wanted: now,
        acknowledged: None,
        text: new.text,
    };
    raising.raise.into_iter().enumerate().map(alert).collect()
}

macro_rules! ensure {
    ($holds:expr, $($what:tt)+) => {
        if !$holds {
            return Err(format!($($what)+));
        }
    };
}

/// Holds everything that is said at a moment against the rest; the verdict of the check, where a coat is to
/// come.
pub fn agree(world: &World, now: Moment, library: &Library) -> Result<Option<String>, String> {
    let survey = survey(world, now, library);
    let words = words();
    let alerts = raised(&survey, now);
    let view = View::of(&survey, &alerts, &words, now);
    let status = serde_json::to_value(Status::of(&survey, &alerts)).map_err(|error| error.to_string())?;
    film_agrees(&survey, &view, &alerts)?;
    let area = &survey.areas[0];
    let Some(judgement) = &area.judgement else { return Ok(None) };
    let product = area.next.ok_or("a coat is to come, but nobody knows which")?;
    let check = survey.check_text(area, product, &words).ok_or("no check")?;
    ensure!(check.answer == judgement.answer, "check {:?}, area {:?}", check.answer, judgement.answer);
    every_voice_begins_with_the_verdict(&view, &check, &words, now)?;
    no_voice_is_surer(&view, &check, judgement, &words)?;
    figures_agree(&status["air"], &check, product, now)?;
    page_agrees(&view, &WeatherView::all(&survey, &words, now)[0], &check, now)?;
    begun_agrees(world, now, library, &check)?;
    let answer = serde_json::to_value(check.answer).map_err(|error| error.to_string())?;
    Ok(answer.as_str().map(str::to_owned))
}

/// The headline of the one area, and its verdict.
pub fn head_and_verdict(world: &World, now: Moment, library: &Library) -> (String, Verdict) {
    let survey = survey(world, now, library);
    let verdict = survey.areas[0].verdict(now);
    (words().headline(verdict, now), verdict)
}

/// Holds the drawn board of a size against the judgement: the verdict of the area is there in full, and nothing on
/// the screen says GO earlier, longer or surer.
pub fn screen_agrees(
    world: &World,
    now: Moment,
    library: &Library,
    (width, height): (u16, u16),
) -> Result<(), String> {
    let survey = survey(world, now, library);
    let words = words();
    let view = View::of(&survey, &raised(&survey, now), &words, now);
    let screen = picture(&view, &Civil::utc(), (width, height), ColorMode::None);
    let rows: Vec<String> = (0..height)
        .map(|y| (0..width).map(|x| screen.cell((x, y)).unwrap().symbol()).collect::<String>())
        .collect();
    let shown = rows.join("\n");
    let head = &view.ribbons[0].head;
    ensure!(shown.contains(head.as_str()), "{head} is not on the board of {width}x{height}:\n{shown}");
    let judged = survey.areas[0].judgement.as_ref().map(Judgement::verdict);
    let limit = match judged {
        Some(verdict @ Verdict::Go { .. }) => Some(words.headline(verdict, now)),
        _ => None,
    };
    for row in &rows {
        for (at, _) in row.match_indices("GO").filter(|(at, _)| is_word(row, *at)) {
            let whole = limit.as_ref().is_some_and(|limit| row[at..].starts_with(limit.as_str()));
            ensure!(whole, "the judgement says {judged:?}, the board of {width}x{height}: {row}");
        }
    }
    Ok(())
}

/// Whether the two letters at a place stand alone.
fn is_word(row: &str, at: usize) -> bool {
    let letter = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    !letter(row[..at].chars().next_back()) && !letter(row[at + 2..].chars().next())
}

/// The check, the line of the air and the area begin with the same verdict. A coat in progress and tape come
/// before the coat to come.
fn every_voice_begins_with_the_verdict(
    view: &View,
    check: &Check,
    words: &Words,
    now: Moment,
) -> Result<(), String> {
    let head = words.headline(check.verdict, now);
    let line = &view.air[0].coat;
    ensure!(check.says.starts_with(&head), "{check:?}");
    ensure!(line.word == head, "the line says {line:?}, the check {head}");
    ensure!(line.full.starts_with(&head) && line.brief.starts_with(&head), "{line:?}, {head}");
    let ribbon = &view.ribbons[0];
    let other = ["PULL THE TAPE", "COATING"].iter().any(|other| ribbon.head.starts_with(other));
    ensure!(other || ribbon.head == head, "the area says {}, the check {head}", ribbon.head);
    let is_now = |band: &&curewright::app::view::Band| band.from <= now && band.to.is_none_or(|to| now < to);
    let phase = ribbon.bands.iter().find(is_now).map(|band| band.phase);
    let can_be_sanded = matches!(phase, None | Some(Phase::Sandable | Phase::Cured));
    ensure!(can_be_sanded || !ribbon.head.starts_with("SAND"), "{} beside a band {phase:?}", ribbon.head);
    ensure!(
        view.next.head.is_empty() || !view.next.head.starts_with("GO") || view.next.head == head,
        "{:?}",
        view.next
    );
    Ok(())
}

/// No voice says go where the judgement does not, and none earlier or longer than it does.
fn no_voice_is_surer(view: &View, check: &Check, judgement: &Judgement, words: &Words) -> Result<(), String> {
    let go = check.answer == Answer::Go;
    let heads = [&check.says, &view.air[0].coat.word, &view.ribbons[0].head, &view.next.head];
    for head in heads {
        ensure!(go || !head.starts_with("GO"), "{head} beside {check:?}");
    }
    ensure!(view.air[0].coat.warns == judgement.against().is_some(), "{:?}", view.air[0].coat);
    for reason in &check.reasons {
        ensure!(!reason.text.is_empty() && reason.from >= view.now, "{reason:?}");
        let caution = ["no_humidity", "humidity_old", "rain_unknown"].contains(&reason.code);
        let said = go || caution || check.why.contains(&reason.text);
        ensure!(said, "{reason:?} is not among {:?}", check.why);
    }
    if let Some(slot) = check.slots.first() {
        ensure!(slot.0 >= view.now, "a slot in the past: {}", words.when(slot.0, view.now));
        let goes = go || owed(check) && judgement.against().is_none();
        ensure!(goes == (slot.0 == view.now), "{:?}, and the first slot is from {}", check.answer, slot.0);
    }
    if let (true, Some(by)) = (go, judgement.begin_by()) {
        let by = words.when(by, view.now);
        ensure!(check.says.contains(&format!(" until {by}")), "{check:?}, by {by}");
    }
    if let Some((against, _)) = judgement.against() {
        let text = check.reasons.iter().find(|reason| reason.code == against.code());
        let text = text.map(|reason| reason.text.as_str()).unwrap_or_default();
        let line = &view.air[0].coat;
        ensure!(line.full.contains(text), "the line says {line:?}, the check \"{text}\"");
    }
    Ok(())
}

/// Whether it waits for the person alone, who has to sand.
fn owed(check: &Check) -> bool {
    check.reasons.iter().any(|reason| ["not_sanded", "not_washed", "not_taped"].contains(&reason.code))
}

/// The figures of the status and the reasons of the check.
fn figures_agree(
    air: &Value,
    check: &Check,
    product: &curewright::engine::profile::Product,
    now: Moment,
) -> Result<(), String> {
    let allowed = product.application;
    let figure = |key: &str| air.get(key).and_then(Value::as_f64);
    let against = |code: &str| check.reasons.iter().any(|reason| reason.code == code && reason.from <= now);
    let held = |value: Option<f64>, limit: f64, over: bool, code: &str| {
        let Some(value) = value else { return true };
        let broken = if over { value > limit } else { value < limit };
        (value - limit).abs() <= ROUNDED || broken == against(code)
    };
    let cold = held(figure("temperature_c"), allowed.coolest.degrees(), false, "too_cold");
    let warm = held(figure("temperature_c"), allowed.warmest.degrees(), true, "too_warm");
    let dew = held(figure("dew_margin_k"), allowed.dew_margin.kelvin(), false, "dew_margin");
    let most = allowed.humidity_max.map_or(200.0, |humidity| humidity.percent());
    let damp = held(figure("relative_humidity"), most, true, "too_damp");
    ensure!(cold && warm && dew && damp, "status {air}, check {:?}", check.reasons);
    let unknown = against("no_humidity") || figure("relative_humidity").is_none() && against("humidity_old");
    let unread = against("no_reading");
    ensure!(
        unread || unknown == figure("relative_humidity").is_none(),
        "status {air}, check {:?}",
        check.reasons
    );
    ensure!(unread == figure("temperature_c").is_none(), "status {air}, check {:?}", check.reasons);
    Ok(())
}

/// The weather page and the check.
fn page_agrees(view: &View, page: &WeatherView, check: &Check, now: Moment) -> Result<(), String> {
    let line = &view.air[0];
    ensure!(page.verdict.contains(&line.coat.full), "{} and {:?}", page.verdict, line.coat);
    ensure!(page.film == line.film, "{:?} and {:?}", page.film, line.film);
    let Some(first) = page.stretches.first() else { return Ok(()) };
    ensure!(first.from == now, "{first:?}");
    let goes = check.answer == Answer::Go || owed(check) && check.slots.first().is_some_and(|s| s.0 <= now);
    ensure!(first.fits == goes, "{first:?} and {check:?}");
    // Two slots that touch are one stretch.
    let slot = |part: &&curewright::app::view::Stretch| {
        check.slots.iter().any(|slot| slot.0 == part.from) && check.slots.iter().any(|slot| part.to <= slot.1)
    };
    let mut fits = page.stretches.iter().filter(|part| part.fits);
    ensure!(fits.all(|part| slot(&part)), "{:?} and {:?}", page.stretches, check.slots);
    Ok(())
}

const OF_THE_WEATHER: [AlertKind; 3] = [AlertKind::Dew, AlertKind::OutOfRange, AlertKind::Rain];

/// The line of what is on the surfaces, what threatens it, the alerts and their banners.
fn film_agrees(survey: &Survey<'_>, view: &View, alerts: &[Alert]) -> Result<(), String> {
    let area = &survey.areas[0];
    let line = &view.air[0].film;
    let stalled = area.newest.as_ref().is_some_and(|coat| coat.standing.stalled);
    ensure!(line.is_empty() == area.film.is_none(), "{line:?} and {:?}", area.film);
    ensure!(alerts.iter().any(|alert| alert.kind == AlertKind::Stall) == stalled, "{alerts:?}");
    for kind in OF_THE_WEATHER {
        let alert = alerts.iter().find(|alert| alert.kind == kind);
        let threat = area.threats().iter().find(|(against, _)| kind.warns_of(*against));
        // What stands still in the cold is told as such.
        let as_stall = stalled && kind == AlertKind::OutOfRange;
        ensure!(as_stall || alert.is_some() == threat.is_some(), "{kind:?}: {alert:?} and {threat:?}");
        if let (Some(alert), Some((against, from))) = (alert, threat) {
            let text = words().against(*against, *from, view.now);
            ensure!(line.full.contains(&text), "the line says {line:?}, the threat is \"{text}\"");
            ensure!(alert.text.contains(&text), "{alert:?}, the threat is \"{text}\"");
            let banner = view.banners.iter().find(|banner| banner.id == alert.id);
            ensure!(banner.is_some_and(|b| b.text.contains(&text)), "{banner:?}, the threat is \"{text}\"");
        }
    }
    let wrong = !area.threats().is_empty() || stalled || area.film.is_some() && area.reading_old.is_some();
    ensure!(line.warns == wrong, "{line:?} and {:?}", area.film);
    let suits = line.full.contains("the air is suitable");
    ensure!(line.is_empty() || line.warns != suits, "{line:?}");
    let old = alerts.iter().any(|alert| alert.kind == AlertKind::ReadingOld);
    ensure!(!old || view.air[0].old, "an old reading is called fresh: {:?}", view.air[0]);
    Ok(())
}

/// A coat started on a GO has no threat; one started into a threat shows it while it is wet.
fn begun_agrees(world: &World, now: Moment, library: &Library, check: &Check) -> Result<(), String> {
    if check.reasons.iter().any(|reason| reason.code == "film_wet" && reason.text.contains("being applied")) {
        return Ok(());
    }
    let begun = world.coated(now);
    let survey = survey(&begun, now, library);
    let alerts = raised(&survey, now);
    let threats: Vec<&Alert> = alerts.iter().filter(|alert| OF_THE_WEATHER.contains(&alert.kind)).collect();
    if check.answer == Answer::Go {
        ensure!(threats.is_empty(), "go, and then {threats:?}");
        return Ok(());
    }
    let now_and_dangerous = |code: &str| check.reasons.iter().any(|r| r.code == code && r.from <= now);
    for (code, kind) in [("dew_margin", AlertKind::Dew), ("rain", AlertKind::Rain)] {
        let told = threats.iter().any(|alert| alert.kind == kind);
        ensure!(
            !now_and_dangerous(code) || told,
            "{code} speaks against it, and nothing is told: {alerts:?}"
        );
    }
    Ok(())
}
