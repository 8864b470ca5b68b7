use chrono::SecondsFormat;
use proptest::prelude::*;

use super::*;
use crate::engine::units::ClockFace;

fn now() -> Moment {
    "2026-11-02T18:00:00Z".parse().unwrap()
}

fn berlin() -> Civil {
    Civil::new(chrono_tz::Europe::Berlin, ClockFace::TwentyFour)
}

fn read(bytes: impl AsRef<[u8]>) -> LoggerFile {
    read_logger(bytes.as_ref(), "shop", &berlin(), now()).unwrap()
}

fn error(bytes: impl AsRef<[u8]>) -> String {
    read_logger(bytes.as_ref(), "shop", &berlin(), now()).unwrap_err().to_string()
}

/// "place time air humidity surface" of every reading, a dash if unknown.
fn said(file: &LoggerFile) -> Vec<String> {
    let figure = |figure: Option<f64>| figure.map_or("-".into(), |figure| format!("{figure:.1}"));
    let said = file.readings.iter().map(|(place, reading)| {
        let time = reading.at.to_rfc3339_opts(SecondsFormat::Secs, true);
        let (humidity, surface) =
            (reading.humidity.map(Humidity::percent), reading.surface.map(Celsius::degrees));
        format!("{place} {time} {:.1} {} {}", reading.air.degrees(), figure(humidity), figure(surface))
    });
    said.collect()
}

fn fault(row: &str) -> String {
    let file = read(format!("time,temperature,humidity,surface,place\n{row}\n"));
    assert_eq!(file.readings, [], "{row:?} was taken");
    assert_eq!((file.faults.len(), file.bad_rows, file.faults[0].line), (1, 1, 2));
    file.faults[0].what.clone()
}

#[test]
fn a_full_row_gives_all_that_a_logger_knows() {
    let file = read("time,temperature,humidity,surface,place\n2026-05-02T18:00:00Z,17.8,62,17.1,yard\n");
    assert_eq!(said(&file), ["yard 2026-05-02T18:00:00Z 17.8 62.0 17.1"]);
    assert_eq!(file.faults, []);
}

#[test]
fn time_and_temperature_are_enough_in_any_order_and_case() {
    let file =
        read("Battery,TEMPERATURE, Time \n3.1,17.8,2026-05-02 20:00\n3.1, 18.2 ,2026-05-02 20:10:30\n");
    assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 17.8 - -", "shop 2026-05-02T18:10:30Z 18.2 - -"]);
}

#[test]
fn a_time_may_be_local_or_with_an_offset_or_unix() {
    for time in [
        "2026-05-02T18:00:00Z",
        "2026-05-02T18:00:00.7Z",
        "2026-05-02t18:00:00z",
        "2026-05-02T20:00:00+02:00",
        "2026-05-02T20:00+02:00",
        "2026-05-02 20:00:00 +02:00",
        "2026-05-02T12:30:00-05:30",
        "2026-05-02 20:00",
        "2026-05-02T20:00:00",
        "1777744800",
        "1777744800.25",
    ] {
        let file = read(format!("time,temperature\n{time},17\n"));
        assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 17.0 - -"], "{time}");
    }
}

#[test]
fn an_invalid_time_is_an_error() {
    for time in [
        "",
        "soon",
        "20260502",
        "12",
        "2026-13-02 20:00",
        "2026-02-30 20:00",
        "02.05.2026",
        "2026-05-02",
        "2026-05-02 25:00",
        "-1777744800",
    ] {
        let what = fault(&format!("{time},17"));
        assert!(what.contains("is not a time such as") || what == "has no time", "{time}: {what}");
    }
}

/// The moments of the rows of one night, in UTC, by their local times.
fn night(date: &str, zone: chrono_tz::Tz, times: &[&str]) -> (Vec<String>, usize) {
    let rows: String = times.iter().map(|time| format!("{date} {time},9\n")).collect();
    let civil = Civil::new(zone, ClockFace::TwentyFour);
    let later = "2026-12-01T00:00:00Z".parse().unwrap();
    let file = read_logger(format!("time,temperature\n{rows}").as_bytes(), "shop", &civil, later).unwrap();
    let shown = |(_, reading): &(Arc<str>, Reading)| reading.at.format("%H:%M").to_string();
    (file.readings.iter().map(shown).collect(), file.bad_rows)
}

#[test]
fn the_rows_of_both_passes_of_a_repeated_hour_are_distinguished_by_their_order() {
    let times = ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00"];
    let (moments, bad) = night("2026-10-25", chrono_tz::Europe::Berlin, &times);
    assert_eq!((moments.join(" "), bad), ("23:30 00:00 00:30 01:00 01:30 02:00".into(), 0));
    let times = ["00:00", "01:00", "01:00", "02:00", "03:00"];
    let (moments, bad) = night("2026-11-01", chrono_tz::America::New_York, &times);
    assert_eq!((moments.join(" "), bad), ("04:00 05:00 06:00 07:00 08:00".into(), 0));
}

#[test]
fn a_doubled_hour_that_the_rows_show_once_is_asked_about() {
    for times in
        [&["01:30", "02:30", "03:30"][..], &["02:00", "02:30"], &["02:30", "02:00", "02:30", "02:00"]]
    {
        let (moments, bad) = night("2026-10-25", chrono_tz::Europe::Berlin, times);
        let doubled = times.iter().filter(|time| time.starts_with("02")).count();
        assert_eq!((moments.len(), bad), (times.len() - doubled, doubled), "{times:?}");
    }
}

#[test]
fn the_clock_of_lord_howe_goes_back_by_half_an_hour_and_no_row_is_lost() {
    let lord_howe = chrono_tz::Australia::Lord_Howe;
    let times = ["01:00", "01:15", "01:30", "01:45", "01:30", "01:45", "02:00", "02:30"];
    let (moments, bad) = night("2026-04-05", lord_howe, &times);
    assert_eq!((moments.join(" "), bad), ("14:00 14:15 14:30 14:45 15:00 15:15 15:30 16:00".into(), 0));
    let (moments, bad) = night("2026-10-04", lord_howe, &["01:59", "02:00", "02:29", "02:30"]);
    assert_eq!((moments.join(" "), bad), ("15:29 15:30".into(), 2));
}

#[test]
fn the_second_two_o_clock_is_shown_once_in_new_york_and_twice_in_berlin() {
    let (moments, bad) = night("2026-11-01", chrono_tz::America::New_York, &["02:00"]);
    assert_eq!((moments.join(" "), bad), ("07:00".into(), 0));
    let (moments, bad) = night("2026-10-25", chrono_tz::Europe::Berlin, &["02:00", "02:00", "03:00"]);
    assert_eq!((moments.join(" "), bad), ("00:00 01:00 02:00".into(), 0));
    let (moments, bad) =
        night("2026-03-08", chrono_tz::America::New_York, &["01:59", "02:00", "02:59", "03:00"]);
    assert_eq!((moments.join(" "), bad), ("06:59 07:00".into(), 2));
}

#[test]
fn places_have_doubled_hours_of_their_own() {
    let rows = "time,temperature,place\n2026-10-25 02:30,9,shop\n2026-10-25 02:30,9,attic\n\
        2026-10-25 02:10,9,shop\n2026-10-25 03:10,9,attic\n2026-10-25 03:10,9,shop\n";
    let later = "2026-12-01T00:00:00Z".parse().unwrap();
    let file = read_logger(rows.as_bytes(), "shop", &berlin(), later).unwrap();
    assert_eq!((file.readings.len(), file.bad_rows, file.faults[0].line), (4, 1, 3));
}

#[test]
fn the_skipped_hour_of_spring_is_refused_and_its_edges_are_not() {
    let (moments, bad) =
        night("2026-03-29", chrono_tz::Europe::Berlin, &["01:59", "02:00", "02:30", "02:59", "03:00"]);
    assert_eq!((moments.join(" "), bad), ("00:59 01:00".into(), 3));
}

#[test]
fn a_humidity_that_is_a_fraction_is_refused() {
    let time = "2026-05-02 18:00";
    for fraction in ["0.92", "0.5", "0.999", "0.001"] {
        let what = fault(&format!("{time},17,{fraction}"));
        assert!(what.contains("write 60 for 60 %, not 0.6"), "{fraction}: {what}");
    }
    let file = read(format!("time,temperature,humidity\n{time},17,0\n{time},17,1\n"));
    assert_eq!(file.bad_rows, 0);
}

#[test]
fn on_the_night_of_a_clock_change_the_offset_is_asked_for() {
    let skipped = fault("2026-03-29 02:30,17");
    assert!(skipped.contains("did not exist"), "{skipped}");
    let twice = fault("2026-10-25 02:30,17");
    assert!(twice.contains("2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00"), "{twice}");
}

#[test]
fn a_temperature_may_be_in_fahrenheit() {
    let row = "2026-05-02T18:00:00Z";
    for (header, figures) in [
        ("temperature", "68F"),
        ("temperature_f", "68"),
        ("Temperature (°F)", "68"),
        ("temperature_f", "20 °C"),
        ("temperature_c", "20"),
        ("temperature [C]", "20.0"),
        ("temperature_f,surface_c", "68,20"),
    ] {
        let file = read(format!("time,{header}\n{row},{figures}\n"));
        assert_eq!(file.readings[0].1.air.degrees(), 20.0, "{header} {figures}");
        assert!(file.readings[0].1.surface.is_none_or(|surface| surface.degrees() == 20.0));
    }
    let both = read(format!("time,temperature_f,surface\n{row},68,50\n"));
    assert_eq!(said(&both), ["shop 2026-05-02T18:00:00Z 20.0 - 10.0"], "one logger writes one unit");
}

#[test]
fn an_impossible_value_is_reported() {
    let time = "2026-05-02T18:00:00Z";
    assert!(fault(&format!("{time},85.0")).contains("outside −40…60 °C"));
    assert!(fault(&format!("{time},NaN")).contains("is not a temperature"));
    assert!(fault(&format!("{time},1e1")).contains("is not a temperature"));
    assert!(fault(&format!("{time},17,101")).contains("outside 0…100 %"));
    assert!(fault(&format!("{time},17,-")).contains("is not a relative humidity"));
    assert!(fault(&format!("{time},17,62,wet")).contains("is not a temperature"));
    assert_eq!(fault(time), "has no temperature");
    assert!(fault("2026-11-02T18:00:01Z,17").contains("is in the future"));
    assert!(fault(&format!("{time},{}", "1".repeat(70))).contains("too long"));
}

#[test]
fn valid_rows_are_read_and_invalid_ones_reported_with_their_line() {
    let good = "2026-05-02T18:00:00Z,17";
    for end in ["\n", "\r\n", "\r"] {
        let file = [
            "",
            "time,temperature,place",
            "",
            good,
            "soon,17",
            "",
            " , , ",
            "2026-05-02T18:01:00Z,\u{1b}[2J",
            good,
            "2026-05-02T18:00:00Z,17,\"two",
            "lines\"",
            "soon,1",
        ];
        let file = read(file.join(end));
        assert_eq!(file.readings.len(), 2);
        assert_eq!(file.faults.iter().map(|fault| fault.line).collect::<Vec<_>>(), [5, 8, 10, 12], "{end:?}");
        assert_eq!(file.faults[1].to_string(), "line 8: \"[2J\" is not a temperature such as 17.5 or 63F");
    }
}

#[test]
fn semicolons_and_decimal_commas_are_read() {
    let file = read("\u{feff}time;temperature;humidity\r\n2026-05-02T18:00:00Z;17,8;62,5\r\n");
    assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 17.8 62.5 -"]);
    let quoted = read("time,temperature,\"a;b;c\"\n2026-05-02T18:00:00Z,\"17,8\",x\n");
    assert_eq!(said(&quoted), ["shop 2026-05-02T18:00:00Z 17.8 - -"]);
    let tabs = read("time\ttemperature\n2026-05-02T18:00:00Z\t17,8\n");
    assert_eq!(said(&tabs), ["shop 2026-05-02T18:00:00Z 17.8 - -"]);
}

#[test]
fn a_decimal_comma_that_breaks_a_row_is_not_taken_for_a_humidity() {
    let file =
        read("time,temperature,humidity\n2026-05-02T18:00:00Z,17,8,62\n2026-05-02T18:00:00Z,17,62,,\n");
    assert!(
        file.faults[0].what.starts_with("has 4 columns where the first line has 3"),
        "{}",
        file.faults[0]
    );
    assert_eq!(file.readings.len(), 1, "empty columns at the end do no harm");
}

#[test]
fn an_unclosed_quotation_mark_is_reported() {
    for row in ["2026-05-02T18:00:00Z,\"17", "2026-05-02T18:00:00Z,17,62,,\"yard"] {
        let what = fault(&format!("{row}\n2026-05-02T18:01:00Z,17"));
        assert!(what.contains("is a quotation mark not closed?"), "{what}");
    }
}

#[test]
fn places_are_cleaned_and_an_empty_one_is_the_default() {
    let row = "2026-05-02T18:00:00Z,17";
    let file = read(format!("time,temperature,place\n{row},ya\u{1b}rd\n{row}, \n{row}\n{row},\u{7}\n"));
    assert_eq!(
        file.readings.iter().map(|(place, _)| &**place).collect::<Vec<_>>(),
        ["yard", "shop", "shop", "shop"]
    );
}

#[test]
fn a_row_that_is_not_utf_8_affects_no_other() {
    let file = read(b"time,temperature\n2026-05-02T18:00:00Z,17\xb0C\n2026-05-02T18:00:00Z,17\n");
    assert_eq!((file.readings.len(), file.faults[0].line), (1, 2));
    assert!(file.faults[0].what.contains("not in UTF-8"));
}

#[test]
fn a_file_that_cannot_be_used_is_an_error() {
    for empty in ["", "\u{feff}", "\r\n\n"] {
        assert!(error(empty).contains("the file is empty"), "{empty:?}");
    }
    assert!(error("2026-05-02T18:00:00Z,17.8\n").contains("line 1 names no columns"));
    assert!(error("time;humidity\n").contains("no column \"temperature\" among time, humidity"));
    assert!(error("when,temperature\n").contains("no column \"time\" among when, temperature"));
    assert!(error("time,temperature_c,temperature_f\n").contains("two columns hold the temperature"));
    assert!(error(b"\xff\xfet\0i\0").contains("UTF-16"));
    let header_only = read("time,temperature");
    assert_eq!((header_only.readings, header_only.bad_rows), (vec![], 0));
}

#[test]
fn a_file_of_faults_does_not_fill_the_memory() {
    let file = read(format!("time,temperature\n{}", "soon,17\n".repeat(5000)));
    assert_eq!((file.bad_rows, file.faults.len(), file.faults[999].line), (5000, FAULTS, 1001));
}

proptest! {
    #[test]
    fn times_with_an_offset_are_those_that_chrono_reads(
        second in -62_135_596_800i64..253_402_300_799, east in -1439i32..1440, nanos in prop::option::of(0..999_999_999u32)
    ) {
        let zone = chrono::FixedOffset::east_opt(east * 60).unwrap();
        let moment = chrono::DateTime::from_timestamp(second, nanos.unwrap_or(0)).unwrap();
        let text = moment.with_timezone(&zone).to_rfc3339();
        if let Ok(expected) = chrono::DateTime::parse_from_rfc3339(&text) {
            prop_assert_eq!(time::parse(&text, &berlin()).map(|m| m.timestamp()), Ok(expected.timestamp()));
        }
        let utc = moment.to_rfc3339_opts(SecondsFormat::Secs, true);
        prop_assert_eq!(time::parse(&utc, &berlin()).map(|m| m.timestamp()), Ok(second));
    }

    #[test]
    fn text_like_a_time_is_read_as_chrono_does_or_refused(
        text in "[0-9]{4}-[01][0-9]-[0-3][0-9][T ][0-2][0-9]:[0-6][0-9]:[0-6][0-9](Z|[+-][0-2][0-9]:[0-6][0-9])"
    ) {
        let ours = time::parse(&text, &berlin()).ok().map(|m| m.timestamp());
        let theirs = chrono::DateTime::parse_from_rfc3339(&text).ok().map(|m| m.timestamp());
        prop_assert_eq!(ours, theirs);
    }

    #[test]
    fn no_file_makes_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = read_logger(&bytes, "shop", &berlin(), now());
        let _ = read_logger(&[b"time,temperature,place\n", &bytes[..]].concat(), "shop", &berlin(), now());
    }

    #[test]
    fn a_plain_number_is_read_as_the_slower_way_does(text in "[-0-9.]{1,8}") {
        let slow = Celsius::parse(&text, TemperatureUnit::Celsius);
        prop_assert_eq!(temperature(&text, TemperatureUnit::Celsius), slow.map_err(|error| error.to_string()));
        let slow = Humidity::parse_typed(&text);
        prop_assert_eq!(humidity(&text), slow.map_err(|error| error.to_string()));
    }
}

fn named(columns: &[&str]) -> LoggerOptions {
    let columns = columns.iter().map(|text| text.parse().unwrap()).collect();
    LoggerOptions { columns, ..LoggerOptions::default() }
}

fn read_with(text: &str, options: &LoggerOptions) -> Result<LoggerFile, LoggerError> {
    read_logger_with(text.as_bytes(), "shop", &berlin(), now(), options)
}

fn recognised(header: &str) -> String {
    let file = read(format!("{header}\n"));
    file.recognised.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

#[test]
fn common_column_names_are_recognised_and_reported() {
    let file = read("Timestamp,Temp (°F),RH\n2026-05-02 20:00,50,62\n");
    assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 10.0 62.0 -"]);
    assert_eq!(
        recognised("Timestamp,Temp (°F),RH"),
        "\"Timestamp\" for time, \"Temp (°F)\" for temperature in °F, \"RH\" for humidity"
    );
    assert_eq!(recognised("time,temperature_f,relative humidity"), "");
    assert_eq!(recognised("Date/Time,temperature"), "\"Date/Time\" for time");
    assert_eq!(
        recognised("time;Temp, °C;surface temp"),
        "\"Temp, °C\" for temperature in °C, \"surface temp\" for surface in °C"
    );
    // A column's own name takes precedence.
    assert_eq!(recognised("time,timestamp,temp,temperature"), "");
    assert!(
        error("timestamp,datetime,temperature\n")
            .contains("two columns hold the time; choose one with --column")
    );
}

#[test]
fn a_person_can_say_what_a_column_holds() {
    let options = named(&["time=when", "temperature=Probe 2 (°F)", "surface=temperature"]);
    let text = "When,Temperature,Probe 2 (°F)\n2026-05-02 20:00,8,50\n";
    let file = read_with(text, &options).unwrap();
    // A logger uses one unit, so 8 is in °F too.
    assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 10.0 - -13.3"]);
    assert_eq!(file.recognised, []);
    let told = |options: &LoggerOptions| read_with(text, options).unwrap_err().to_string();
    assert!(told(&named(&["time=wann"])).contains("no column called \"wann\" among when, temperature"));
    assert!(told(&named(&["time=when", "time=when"])).contains("two columns hold the time"));
    for text in ["time", "time=", "wind=x", ""] {
        assert!(text.parse::<NamedColumn>().is_err(), "{text}");
    }
}

#[test]
fn a_person_can_say_the_unit_but_not_against_the_heading() {
    let fahrenheit = LoggerOptions { unit: Some(TemperatureUnit::Fahrenheit), ..LoggerOptions::default() };
    let file = read_with("time,temperature\n2026-05-02 20:00,50\n", &fahrenheit).unwrap();
    assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 10.0 - -"]);
    let against = read_with("time,temperature (°C)\n", &fahrenheit).unwrap_err().to_string();
    assert!(against.contains("\"temperature (°C)\" names another unit"), "{against}");
}

#[test]
fn lines_before_the_header_are_passed_over_and_counted() {
    let skipped = |skip| LoggerOptions { skip, ..LoggerOptions::default() };
    for end in ["\n", "\r\n", "\r"] {
        let text = ["Logger 7;x,y,z", "", "time,temperature", "2026-05-02 20:00,10", "no,11", ""].join(end);
        let file = read_with(&text, &skipped(2)).unwrap();
        assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 10.0 - -"]);
        assert_eq!(file.faults[0].line, 5, "{text:?}");
    }
    assert_eq!(read_with("time,temperature", &skipped(1)), Err(LoggerError::Empty));
    assert_eq!(read_with("\n", &skipped(usize::MAX)), Err(LoggerError::Empty));
}

fn told(text: &str, dates: Option<DateOrder>) -> Result<LoggerFile, LoggerError> {
    let options = LoggerOptions { dates, ..LoggerOptions::default() };
    read_logger_with(text.as_bytes(), "shop", &berlin(), now(), &options)
}

#[test]
fn date_and_time_may_have_a_column_each() {
    for rows in [
        "date,time,temperature\n2026-05-02,20:00,17.8\n",
        "Date;Time;Temperature\n2026-05-02;8:00 PM;17,8\n",
        "temperature,TIME,Date\n17.8,20:00:30.5,2026/05/02\n",
        "date,temperature\n2026-05-02 20:00,17.8\n",
    ] {
        let file = read(rows);
        assert_eq!((said(&file).len(), &file.faults[..]), (1, &[][..]), "{rows}");
        assert!(said(&file)[0].starts_with("shop 2026-05-02T18:00:"), "{rows}: {:?}", said(&file));
        assert_eq!(file.dates, None);
    }
    let faults = read("date,time,temperature\n,20:00,17.8\n2026-05-02,,17.8\n2026-05-02,late,17.8\n").faults;
    let faults: Vec<_> = faults.into_iter().map(|fault| fault.what).collect();
    assert_eq!(faults[..2], ["has no date", "has no time"]);
    assert!(faults[2].starts_with("\"2026-05-02 late\" is not a time"), "{}", faults[2]);
}

#[test]
fn a_column_of_dates_can_be_named() {
    let column = "date=Tag".parse().unwrap();
    let options = LoggerOptions { columns: vec![column], ..LoggerOptions::default() };
    let rows = "Tag,time,temperature\n2026-05-02,20:00,17.8\n";
    let file = read_logger_with(rows.as_bytes(), "shop", &berlin(), now(), &options).unwrap();
    assert_eq!(said(&file), ["shop 2026-05-02T18:00:00Z 17.8 - -"]);
}

#[test]
fn one_unambiguous_date_settles_all() {
    let rows = |first: &str, second: &str| {
        format!("date,time,temperature\n{first},8:00 PM,17.8\n{second},20:00,17.9\n")
    };
    let american = told(&rows("5/2/2026", "05/13/26"), None).unwrap();
    assert_eq!(american.dates, Some(DateOrder::MonthFirst));
    assert_eq!(said(&american)[0], "shop 2026-05-02T18:00:00Z 17.8 - -");
    assert_eq!(said(&american)[1], "shop 2026-05-13T18:00:00Z 17.9 - -");
    let british = told(&rows("2/5/2026", "13/05/2026"), None).unwrap();
    assert_eq!((british.dates, said(&british)), (Some(DateOrder::DayFirst), said(&american)));
    let german = told(&rows("2.5.2026", "13.05.2026"), None).unwrap();
    assert_eq!((german.dates, said(&german)), (Some(DateOrder::DayFirst), said(&american)));
}

#[test]
fn dates_that_may_be_either_are_asked_about() {
    let rows = "time,temperature\n5/2/2026 8:00 PM,17.8\n5/3/2026 8:00 PM,17.8\n";
    let error = told(rows, None).unwrap_err().to_string();
    assert_eq!(
        error,
        "\"5/2/2026 8:00 PM\" may be day/month or month/day, and no row of the file shows which; say --dates dmy or --dates mdy"
    );
    let american = told(rows, Some(DateOrder::MonthFirst)).unwrap();
    assert_eq!(said(&american)[0], "shop 2026-05-02T18:00:00Z 17.8 - -");
    let british = told(rows, Some(DateOrder::DayFirst)).unwrap();
    assert_eq!(said(&british)[0], "shop 2026-02-05T19:00:00Z 17.8 - -");
}

#[test]
fn a_date_that_contradicts_the_option_is_an_invalid_row() {
    let file = told("time,temperature\n5/13/2026 20:00,17.8\n", Some(DateOrder::DayFirst)).unwrap();
    assert_eq!((file.readings.len(), file.bad_rows), (0, 1));
    for time in ["13/13/2026 20:00", "5/2/2026", "5/2/2026 25:00", "5/2 20:00", "5/2/02026 20:00", "//"] {
        let file = told(&format!("time,temperature\n{time},17.8\n"), Some(DateOrder::MonthFirst)).unwrap();
        assert_eq!(file.readings, [], "{time}");
    }
}

#[test]
fn an_hour_that_a_clock_change_doubled_is_asked_about_in_these_dates_too() {
    let file = told("time,temperature\n10/25/2026 2:30 AM,9\n", Some(DateOrder::MonthFirst)).unwrap();
    assert!(file.faults[0].what.contains("twice that night"), "{}", file.faults[0].what);
}
