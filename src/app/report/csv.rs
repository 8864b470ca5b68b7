//! Tables: a row for each coat, a row for each reading. RFC 4180: commas, quotation marks doubled, lines that
//! end with CR LF. Moments are RFC 3339 with the offset of the wall clock.

use chrono::SubsecRound;

use super::escape::cell;
use super::facts::{AirFigures, AreaReport, CoatReport, Report, Span};
use super::text::Tell;
use crate::app::wording::Words;
use crate::engine::air::dew_point;
use crate::engine::cure::{Reading, StageTimes};
use crate::engine::job::StepKind;
use crate::engine::profile::Stage;
use crate::engine::units::{AreaUnit, Celsius, Humidity, Micrometres, Moment};

/// A column: its heading, and its cell in a row.
type Column<'a> = (String, Box<dyn Fn(&AreaReport, &CoatReport) -> String + 'a>);

/// A table with a row for each coat.
pub fn coats_csv(report: &Report, words: &Words) -> String {
    let columns = columns(Tell::new(words));
    let headings: Vec<&str> = columns.iter().map(|(heading, _)| heading.as_str()).collect();
    let coats = report.coats().chain(report.taken_off());
    let rows = coats.map(|(area, coat)| columns.iter().map(|(_, of)| of(area, coat)).collect());
    table(&headings, rows)
}

/// A table with a row for each reading, place by place.
pub fn readings_csv(places: &[(String, Vec<Reading>)], words: &Words) -> String {
    let tell = Tell::new(words);
    let degree = tell.degree();
    let headings = [
        "time".to_owned(),
        "place".to_owned(),
        format!("temperature [{degree}]"),
        "humidity [%]".to_owned(),
        format!("surface [{degree}]"),
        format!("dew point [{degree}]"),
    ];
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    let row = |place: &str, reading: &Reading| {
        let dew = reading.humidity.and_then(|humidity| dew_point(reading.air, humidity));
        vec![
            time(words, reading.at),
            cell(place).into_owned(),
            temperature(tell, reading.air),
            reading.humidity.map(|humidity| format!("{:.1}", humidity.percent())).unwrap_or_default(),
            reading.surface.map(|surface| temperature(tell, surface)).unwrap_or_default(),
            dew.map(|dew| temperature(tell, dew.at)).unwrap_or_default(),
        ]
    };
    let rows = places.iter().flat_map(|(place, readings)| readings.iter().map(move |r| row(place, r)));
    table(&headings, rows)
}

fn table(headings: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::<u8>::new());
    // Into memory nothing fails.
    let _ = writer.write_record(headings);
    for row in rows {
        let _ = writer.write_record(&row);
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

fn columns(tell: Tell<'_>) -> Vec<Column<'_>> {
    let mut columns = what(tell);
    columns.extend(air(tell));
    columns.extend(stages(tell));
    columns.extend(film_and_words(tell));
    columns
}

fn column<'a>(
    heading: impl Into<String>,
    of: impl Fn(&AreaReport, &CoatReport) -> String + 'a,
) -> Column<'a> {
    (heading.into(), Box::new(of))
}

fn what(tell: Tell<'_>) -> Vec<Column<'_>> {
    let words = tell.words();
    let text = |text: &str| cell(text).into_owned();
    vec![
        column("area", move |area, _| text(&area.name)),
        column("coat", |_, coat| coat.layer.to_string()),
        column("product", move |_, coat| text(&coat.product)),
        column("name", move |_, coat| text(coat.name.as_deref().unwrap_or_default())),
        column("lot", move |_, coat| text(&coat.lots.join("; "))),
        column("batch", |_, coat| coat.batch.as_ref().map(|batch| batch.id.to_string()).unwrap_or_default()),
        column("first stroke", move |_, coat| time(words, coat.first_stroke)),
        column("last stroke", move |_, coat| perhaps(words, coat.last_stroke)),
        column("took [min]", |_, coat| {
            let took = coat.last_stroke.map(|last| last - coat.first_stroke);
            took.map(|took| format!("{:.1}", took.as_seconds_f64() / 60.0)).unwrap_or_default()
        }),
    ]
}

fn air(tell: Tell<'_>) -> Vec<Column<'_>> {
    let figures = |coat: &CoatReport| coat.calculated.as_ref().and_then(|calculated| calculated.air);
    let of = |name: &str, unit: &str, figure: Box<dyn Fn(AirFigures) -> Option<String>>| {
        column(format!("{name} [{unit}]"), move |_, coat| figures(coat).and_then(&figure).unwrap_or_default())
    };
    let (degree, kelvin) = (tell.degree(), tell.kelvin_unit());
    let mut columns: Vec<Column<'_>> = Vec::new();
    let celsius = tell_celsius(tell);
    let percent = |humidity: Humidity| format!("{:.1}", humidity.percent());
    for (name, of_span) in span_names() {
        let celsius = celsius.clone();
        columns.push(of(&format!("air {name}"), degree, Box::new(move |f| Some(celsius(of_span(f.air))))));
    }
    for (name, of_span) in span_names::<Humidity>() {
        let figure = Box::new(move |f: AirFigures| f.humidity.map(|span| percent(of_span(span))));
        columns.push(of(&format!("humidity {name}"), "%", figure));
    }
    let dew = celsius.clone();
    columns.push(of("dew point highest", degree, Box::new(move |f| f.dew.map(|span| dew(span.high)))));
    let factor = tell.difference(crate::engine::units::KelvinDelta::new(1.0));
    let margin = move |f: AirFigures| f.margin.map(|span| format!("{:.2}", span.low.kelvin() * factor));
    columns.push(of("surface above dew point lowest", kelvin, Box::new(margin)));
    columns.push(column("readings while wet", move |_, coat| {
        figures(coat).map(|figures| figures.readings.to_string()).unwrap_or_default()
    }));
    columns
}

fn tell_celsius(tell: Tell<'_>) -> impl Fn(Celsius) -> String + Clone + 'static {
    let fahrenheit = tell.degree() == "°F";
    move |value| format!("{:.2}", if fahrenheit { value.fahrenheit() } else { value.degrees() })
}

/// A column for each figure of a span.
type OfSpan<T> = (&'static str, fn(Span<T>) -> T);

fn span_names<T: Copy + 'static>() -> [OfSpan<T>; 3] {
    [("lowest", |span| span.low), ("mean", |span| span.mean), ("highest", |span| span.high)]
}

/// The stages with their keys, as `status --json` names them.
fn stages(tell: Tell<'_>) -> Vec<Column<'_>> {
    let words = tell.words();
    let of = |coat: &CoatReport, stage: Stage| -> Option<StageTimes> {
        let calculated = coat.calculated.as_ref()?;
        calculated.stages.iter().find(|(known, _)| *known == stage).map(|(_, times)| *times)
    };
    let mut columns: Vec<Column<'_>> = Vec::new();
    for stage in Stage::ALL {
        type Which = fn(&StageTimes) -> Option<Moment>;
        let which: [(&str, Which); 3] =
            [("earliest", |r| r.earliest), ("at", |r| r.at), ("latest", |r| r.latest)];
        for (name, which) in which {
            columns.push(column(format!("{} {name}", stage.key()), move |_, coat| {
                perhaps(words, of(coat, stage).and_then(|times| which(&times)))
            }));
        }
    }
    columns
}

fn film_and_words(tell: Tell<'_>) -> Vec<Column<'_>> {
    let words = tell.words();
    let film_unit = match words.units.area {
        AreaUnit::SquareMetres => "µm",
        AreaUnit::SquareFeet => "mil",
    };
    let film = move |film: Micrometres| match words.units.area {
        AreaUnit::SquareMetres => format!("{:.0}", film.micrometres()),
        AreaUnit::SquareFeet => format!("{:.2}", film.micrometres() / Micrometres::PER_MIL),
    };
    let done = |coat: &CoatReport, kind: StepKind| {
        coat.steps.iter().rev().find(|step| step.kind == kind).map(|step| step.at)
    };
    let list = |texts: Vec<String>| cell(&texts.join("; ")).into_owned();
    vec![
        column("sanded", move |_, coat| perhaps(words, done(coat, StepKind::Sand))),
        column("washed", move |_, coat| perhaps(words, done(coat, StepKind::Wash))),
        column(format!("wet film [{film_unit}]"), move |_, coat| {
            let spots = coat.films.iter().flat_map(|measured| &measured.spots);
            list(spots.map(|spot| film(*spot)).collect())
        }),
        column(format!("dry film [{film_unit}]"), move |_, coat| coat.dry.map(film).unwrap_or_default()),
        column("outside the limits", move |_, coat| {
            list(coat.findings.iter().map(|finding| tell.finding(finding)).collect())
        }),
        column("assumed", move |_, coat| {
            let assumed = coat.calculated.iter().flat_map(|calculated| &calculated.assumed);
            list(assumed.map(|assumption| tell.assumption(assumption)).collect())
        }),
        column("taken off", move |_, coat| {
            let off = coat.off.as_ref();
            let why = off.and_then(|off| off.why.as_deref()).map(|why| format!(": {}", cell(why)));
            let at = perhaps(words, off.map(|off| off.at));
            format!("{at}{}", why.unwrap_or_default())
        }),
        column("scheme", move |_, coat| list(tell.scheme(coat).into_iter().collect())),
        column("notes", move |_, coat| list(coat.notes.iter().map(|note| tell.note(note)).collect())),
    ]
}

fn time(words: &Words, moment: Moment) -> String {
    words.civil.local(moment.round_subsecs(0)).to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
}

fn perhaps(words: &Words, moment: Option<Moment>) -> String {
    moment.map(|moment| time(words, moment)).unwrap_or_default()
}

fn temperature(tell: Tell<'_>, value: Celsius) -> String {
    format!("{:.2}", tell.degrees(value))
}
