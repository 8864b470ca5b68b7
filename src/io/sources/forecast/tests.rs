use chrono::SecondsFormat;
use proptest::prelude::*;

use super::*;
use crate::engine::units::{ClockFace, Humidity, MetresPerSecond, Millimetres};

fn now() -> Moment {
    "2026-05-02T18:00:00Z".parse().unwrap()
}

fn berlin() -> Civil {
    Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour)
}

fn table(text: &str) -> Forecast {
    read_forecast_csv(text.as_bytes(), &berlin(), now()).unwrap()
}

fn table_error(bytes: impl AsRef<[u8]>) -> String {
    read_forecast_csv(bytes.as_ref(), &berlin(), now()).unwrap_err().to_string()
}

fn json_error(bytes: impl AsRef<[u8]>) -> String {
    read_forecast_json(bytes.as_ref(), now()).unwrap_err().to_string()
}

/// "day hour air humidity rain wind" of every hour, a dash if unknown.
fn said(forecast: &Forecast) -> Vec<String> {
    let figure = |figure: Option<f64>| figure.map_or("-".into(), |figure| format!("{figure:.1}"));
    let said = forecast.hours.iter().map(|hour| {
        format!(
            "{} {:.1} {} {} {}",
            hour.at.to_rfc3339_opts(SecondsFormat::Secs, true).trim_start_matches("2026-05-"),
            hour.air.degrees(),
            figure(hour.humidity.map(Humidity::percent)),
            figure(hour.rain.map(Millimetres::millimetres)),
            figure(hour.wind.map(MetresPerSecond::metres_per_second)),
        )
    });
    said.collect()
}

fn notes(forecast: &Forecast) -> Vec<String> {
    let when = |moment: Moment| moment.format("%d %H:%M").to_string();
    forecast.notes.iter().map(|note| note.sentence(when)).collect()
}

fn fault(header: &str, row: &str) -> String {
    let good = "2026-05-02T23:00:00Z,10";
    let forecast = table(&format!("{header}\n{row}\n{good}\n"));
    assert_eq!((forecast.hours.len(), forecast.bad_rows), (1, 1), "{row:?} was taken");
    assert_eq!(forecast.faults[0].line, 2);
    forecast.faults[0].what.clone()
}

const HEADER: &str = "time,temperature,humidity,rain,wind";

#[test]
fn a_table_gives_the_values_of_every_hour() {
    let forecast = table(&format!(
        "{HEADER}\n2026-05-02 20:00,12.5,78,0.4,3\n2026-05-02T19:00:00Z,12,,,\n2026-05-02T20:00:00Z,11,80,0,2\n"
    ));
    assert_eq!(
        said(&forecast),
        ["02T18:00:00Z 12.5 78.0 0.4 3.0", "02T19:00:00Z 12.0 - - -", "02T20:00:00Z 11.0 80.0 0.0 2.0"]
    );
    assert_eq!((notes(&forecast), forecast.bad_rows, forecast.made), (vec![], 0, None));
}

#[test]
fn columns_may_be_called_as_services_call_them_and_name_their_unit() {
    for (header, row) in [
        ("temperature_c,relative_humidity,rain_mm,wind_m_s", "20,50,25.4,5"),
        ("Temperature (°F),Humidity (%),Rain (in),Wind (km/h)", "68,50,1,18"),
        ("air_temperature;rh;precipitation_amount [mm];wind_speed_kn", "20;50;25,4;9,7192"),
        ("temperature,humidity,rain,wind", "68F,50 %,1 in,18 km/h"),
        ("temperature,humidity,rain,wind_gust,wind", "20,50,25.4,99,11.1847 mph"),
    ] {
        let separator = if header.contains(';') { ';' } else { ',' };
        let forecast = table(&format!("time{separator}{header}\n2026-05-02T18:00:00Z{separator}{row}\n"));
        assert_eq!(said(&forecast), ["02T18:00:00Z 20.0 50.0 25.4 5.0"], "{header}: {row}");
    }
}

#[test]
fn an_unknown_unit_is_never_read_as_another() {
    assert!(table_error("time,temperature,wind (bft)\n").contains("the wind is in \"bft\""));
    assert!(table_error("time,temperature,rain (cm)\n").contains("known units: mm and in"));
    assert!(table_error("time,temperature [K]\n").contains("the temperature is in \"k\""));
    assert!(table_error("time,temperature,humidity (g/m3)\n").contains("the humidity is in"));
    assert!(fault(HEADER, "2026-05-02T18:00:00Z,10,50,0,3 bft").contains("is not a wind"));
    assert!(fault(HEADER, "2026-05-02T18:00:00Z,10,50,1 cm,3").contains("is not rain"));
}

#[test]
fn invalid_rows_are_reported_with_their_line_and_affect_no_other() {
    let row = "2026-05-02T18:00:00Z";
    assert!(fault(HEADER, &format!("{row},12,101,0,3")).contains("outside 0…100 %"));
    assert!(fault(HEADER, &format!("{row},68,50,0,3")).contains("outside −40…60 °C"));
    assert!(fault(HEADER, &format!("{row},12,50,-1,3")).contains("outside 0…500 mm"));
    assert!(fault(HEADER, &format!("{row},12,50,0,500")).contains("outside 0…120 m/s"));
    assert!(fault(HEADER, &format!("{row},12,50,NaN,3")).contains("is not rain"));
    assert!(fault(HEADER, "soon,12,50,0,3").contains("is not a time"));
    assert!(fault(HEADER, "2036-05-02T18:00:00Z,12,50,0,3").contains("check the year"));
    assert_eq!(fault(HEADER, row), "has no temperature");
    assert!(fault(HEADER, &format!("{row},12,5,50,0,3")).contains("has 6 columns"));
}

#[test]
fn a_table_that_cannot_be_used_is_an_error() {
    assert!(table_error("").contains("the forecast is empty"));
    assert!(table_error(b"\xff\xfet\0").contains("UTF-16"));
    assert!(table_error("2026-05-02T18:00:00Z,12\n").contains("line 1 names no columns"));
    assert!(table_error("time,humidity\n").contains("no column \"temperature\""));
    assert!(table_error("time,temperature,rain,rain_mm\n").contains("two columns hold the rain"));
    assert!(table_error("time,temperature\n").contains("no usable hour"));
    let only_bad = table_error("time,temperature\nsoon,12\n");
    assert!(only_bad.contains("no usable hour; line 2: \"soon\" is not a time"), "{only_bad}");
    let rows = "2026-05-02T18:00:00Z,12\n".repeat(50_000);
    assert!(table_error(format!("time,temperature\n{rows}")).contains("larger than 1 MB"));
}

#[test]
fn rows_out_of_order_are_sorted_and_of_two_at_one_moment_the_later_counts() {
    let forecast = table(
        "time,temperature\n2026-05-02T20:00:00Z,14\n2026-05-02T19:00:00Z,13\n2026-05-02T20:00:00Z,15\n",
    );
    assert_eq!(said(&forecast), ["02T19:00:00Z 13.0 - - -", "02T20:00:00Z 15.0 - - -"]);
    assert_eq!(
        notes(&forecast),
        [
            "It was not in order of time; it is sorted now.",
            "One moment was in it twice; the later one counts."
        ]
    );
}

#[test]
fn steps_of_several_hours_are_filled_in_by_the_hour() {
    let forecast =
        table(&format!("{HEADER}\n2026-05-02T18:00:00Z,10,60,3,4\n2026-05-02T21:00:00Z,13,90,1,1\n"));
    assert_eq!(
        said(&forecast),
        [
            "02T18:00:00Z 10.0 60.0 1.0 4.0",
            "02T19:00:00Z 11.0 70.0 1.0 3.0",
            "02T20:00:00Z 12.0 80.0 1.0 2.0",
            "02T21:00:00Z 13.0 90.0 1.0 1.0"
        ]
    );
    assert_eq!(notes(&forecast), [""; 0]);
}

#[test]
fn a_gap_is_reported_and_not_filled() {
    let rows = [18, 19, 22, 23].map(|hour| format!("2026-05-02T{hour}:00:00Z,10\n")).concat();
    let forecast = table(&format!("time,temperature\n{rows}"));
    assert_eq!(forecast.hours.len(), 4);
    assert_eq!(notes(&forecast), ["It has a gap from 02 19:00 to 02 22:00."]);
    let forecast = table(
        "time,temperature\n2026-05-02T18:00:00Z,10\n2026-05-03T06:00:00Z,10\n2026-05-04T18:00:00Z,10\n",
    );
    assert_eq!(forecast.hours.len(), 3);
    assert_eq!(notes(&forecast), ["It has 2 gaps; the longest is from 03 06:00 to 04 18:00."]);
}

#[test]
fn a_forecast_that_has_ended_is_reported() {
    let past = table("time,temperature\n2026-05-02T16:00:00Z,10\n2026-05-02T17:00:00Z,11\n");
    assert!(notes(&past)[0].starts_with("It ends at 02 17:00, before now"), "{:?}", notes(&past));
    assert_eq!(notes(&table("time,temperature\n2026-05-02T17:30:00Z,10\n")), [""; 0], "its hour still runs");
}

/// A step of the documented JSON.
fn step(time: &str, instant: &str, periods: &str) -> String {
    format!(r#"{{"time":"{time}","data":{{"instant":{{"details":{{{instant}}}}}{periods}}}}}"#)
}

fn document(units: &str, steps: &[String]) -> String {
    let steps = steps.join(",");
    format!(
        r#"{{"type":"Feature","geometry":{{"type":"Point","coordinates":[10.7,59.9,12]}},"properties":{{"meta":{{"updated_at":"2026-05-02T17:42:10Z","units":{{{units}}}}},"timeseries":[{steps}]}}}}"#
    )
}

const UNITS: &str = r#""air_pressure_at_sea_level":"hPa","air_temperature":"celsius","cloud_area_fraction":"%","precipitation_amount":"mm","relative_humidity":"%","wind_from_direction":"degrees","wind_speed":"m/s""#;

fn rain(hours: u8, amount: f64) -> String {
    format!(
        r#","next_{hours}_hours":{{"summary":{{"symbol_code":"rain"}},"details":{{"precipitation_amount":{amount}}}}}"#
    )
}

#[test]
fn the_documented_json_gives_hours_and_its_six_hour_steps_are_filled_in() {
    let instant = |air: f64, humidity: f64, wind: f64| {
        format!(
            r#""air_pressure_at_sea_level":1020.5,"air_temperature":{air},"relative_humidity":{humidity},"wind_speed":{wind}"#
        )
    };
    let steps = [
        step("2026-05-02T18:00:00Z", &instant(20.7, 48.6, 2.5), &format!("{}{}", rain(1, 0.2), rain(6, 6.0))),
        step("2026-05-02T19:00:00Z", &instant(12.0, 60.0, 1.0), &rain(6, 3.0)),
        step("2026-05-03T01:00:00Z", &instant(6.0, 90.0, 4.0), ""),
    ];
    let forecast = read_forecast(document(UNITS, &steps).as_bytes(), &berlin(), now()).unwrap();
    assert_eq!(
        said(&forecast),
        [
            "02T18:00:00Z 20.7 48.6 0.2 2.5",
            "02T19:00:00Z 12.0 60.0 0.5 1.0",
            "02T20:00:00Z 11.0 65.0 0.5 1.5",
            "02T21:00:00Z 10.0 70.0 0.5 2.0",
            "02T22:00:00Z 9.0 75.0 0.5 2.5",
            "02T23:00:00Z 8.0 80.0 0.5 3.0",
            "03T00:00:00Z 7.0 85.0 0.5 3.5",
            "03T01:00:00Z 6.0 90.0 - 4.0",
        ]
    );
    assert_eq!((forecast.form, notes(&forecast)), (Form::Json, vec![]));
    assert_eq!(forecast.made, Some("2026-05-02T17:42:10Z".parse().unwrap()));
}

#[test]
fn variables_may_be_missing_and_impossible_values_are_dropped_and_reported() {
    let at = |hour: u8| format!("2026-05-02T{hour}:00:00Z");
    let steps = [
        step(&at(17), r#""air_temperature":12,"relative_humidity":0.92"#, ""),
        step(&at(18), r#""air_temperature":12"#, ""),
        step(&at(19), r#""air_temperature":12,"relative_humidity":100.7,"wind_speed":-1"#, &rain(1, -3.0)),
        step(&at(20), r#""relative_humidity":50"#, ""),
        step(&at(21), r#""air_temperature":null"#, ""),
        step(&at(22), r#""air_temperature":85"#, ""),
        step("22:00", r#""air_temperature":12"#, ""),
        step("2036-05-02T18:00:00Z", r#""air_temperature":12"#, ""),
        r#"{"time":"2026-05-02T23:00:00Z","data":{}}"#.into(),
    ];
    let forecast = read_forecast_json(document(UNITS, &steps).as_bytes(), now()).unwrap();
    assert_eq!(
        said(&forecast),
        ["02T17:00:00Z 12.0 - - -", "02T18:00:00Z 12.0 - - -", "02T19:00:00Z 12.0 - - -"]
    );
    assert_eq!(
        notes(&forecast),
        [
            "6 steps are ignored; the first: step 4 has no air_temperature.",
            "2 hours have an invalid humidity; it is ignored.",
            "One hour has an invalid wind; it is ignored.",
            "One hour has an invalid rain; it is ignored.",
        ]
    );
}

#[test]
fn times_that_run_backwards_are_put_in_order() {
    let at = |hour: u8, air: u8| {
        step(&format!("2026-05-02T{hour}:00:00Z"), &format!("\"air_temperature\":{air}"), "")
    };
    let text = document(UNITS, &[at(20, 10), at(19, 9), at(20, 11)]);
    let forecast = read_forecast_json(text.as_bytes(), now()).unwrap();
    assert_eq!(said(&forecast), ["02T19:00:00Z 9.0 - - -", "02T20:00:00Z 11.0 - - -"]);
    assert_eq!(forecast.notes, [Note::Unsorted, Note::Twice(1)]);
}

#[test]
fn a_variable_in_another_unit_is_refused_and_so_is_one_in_none() {
    let full = step(
        "2026-05-02T18:00:00Z",
        r#""air_temperature":50,"relative_humidity":0.5,"wind_speed":10"#,
        &rain(1, 0.1),
    );
    let refused =
        |from: &str, to: &str| json_error(document(&UNITS.replace(from, to), std::slice::from_ref(&full)));
    assert_eq!(
        refused("celsius", "fahrenheit"),
        "air_temperature is in \"fahrenheit\", not in celsius as documented; nothing is loaded"
    );
    assert!(
        refused(r#""relative_humidity":"%""#, r#""relative_humidity":"1""#).starts_with("relative_humidity")
    );
    assert!(refused("m/s", "knots").starts_with("wind_speed is in \"knots\""));
    assert!(refused(r#""precipitation_amount":"mm","#, "").contains("precipitation_amount is in no unit"));
    assert!(refused("celsius", "\\u001b[2Jcelsius").contains("\"[2Jcelsius\""));
    let only_air = step("2026-05-02T18:00:00Z", r#""air_temperature":12"#, "");
    let text = document(r#""air_temperature":"celsius""#, &[only_air]);
    assert!(read_forecast_json(text.as_bytes(), now()).is_ok(), "what is not used needs no unit");
}

#[test]
fn json_of_another_kind_is_refused_with_what_is_wrong() {
    for (text, what) in [
        ("", "EOF"),
        ("{", "EOF"),
        ("[]", "invalid"),
        ("{}", "missing field `properties`"),
        (r#"{"properties":{"meta":{"units":{}}}}"#, "missing field `timeseries`"),
        (r#"{"properties":{"meta":{},"timeseries":[]}}"#, "missing field `units`"),
        (r#"{"properties":{"meta":{"units":{}},"timeseries":[{"time":5}]}}"#, "invalid type"),
        (r#"{"error":"quota\u001b[2J"}"#, "missing field `properties`"),
        ("<html>", "expected value"),
    ] {
        let error = json_error(text);
        assert!(
            error.starts_with("this is not the JSON of a point forecast (") && error.contains(what),
            "{error}"
        );
    }
    assert!(json_error(document(UNITS, &[])).contains("no usable hour"));
    let deep = "[".repeat(200_000);
    assert!(json_error(format!("{{\"properties\":{deep}")).contains("this is not the JSON"));
    assert!(json_error(vec![b' '; 10 << 20]).contains("larger than 8 MB"));
}

#[test]
fn the_form_is_seen_from_the_first_sign() {
    let text = document(UNITS, &[step("2026-05-02T18:00:00Z", r#""air_temperature":12"#, "")]);
    let marked = format!("\u{feff}\n {text}");
    assert_eq!(read_forecast(marked.as_bytes(), &berlin(), now()).map(|f| f.form), Ok(Form::Json));
    let table = "\u{feff}time,temperature\n2026-05-02T18:00:00Z,12\n";
    assert_eq!(read_forecast(table.as_bytes(), &berlin(), now()).map(|f| f.form), Ok(Form::Table));
}

proptest! {
    #[test]
    fn no_input_makes_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = read_forecast(&bytes, &berlin(), now());
        let _ = read_forecast_json(&bytes, now());
        let _ = read_forecast_csv(&[HEADER.as_bytes(), b"\n", &bytes[..]].concat(), &berlin(), now());
    }

    #[test]
    fn a_document_with_a_piece_cut_out_is_read_or_refused(from in 0usize..900, length in 1usize..60) {
        let steps = [18, 19].map(|hour| step(&format!("2026-05-02T{hour}:00:00Z"), r#""air_temperature":12.5,"relative_humidity":50"#, &rain(6, 1.5)));
        let mut text = document(UNITS, &steps);
        let from = from.min(text.len());
        let to = (from + length).min(text.len());
        text.replace_range(from..to, "");
        let _ = read_forecast_json(text.as_bytes(), now());
    }

    #[test]
    fn whatever_is_read_is_in_order_and_bounded(
        rows in prop::collection::vec((-100i64..100, -50i64..70, 0i64..120, -1i64..9), 1..60)
    ) {
        let rows = rows.iter().map(|(hour, air, humidity, rain)| {
            let at = now() + TimeDelta::minutes(hour * 20);
            format!("{},{air},{humidity},{rain},3\n", at.to_rfc3339_opts(SecondsFormat::Secs, true))
        });
        let text = format!("{HEADER}\n{}", rows.collect::<String>());
        if let Ok(forecast) = read_forecast_csv(text.as_bytes(), &berlin(), now()) {
            prop_assert!(forecast.hours.is_sorted_by(|a, b| a.at < b.at));
            for hour in &forecast.hours {
                prop_assert!(hour.air.plausible().is_ok());
                prop_assert!(hour.humidity.is_some_and(|h| (0.0..=1.0).contains(&h.fraction())));
                prop_assert!(hour.rain.is_some_and(|rain| rain.millimetres() >= 0.0));
            }
        }
    }
}
