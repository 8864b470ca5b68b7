use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use chrono::{DateTime, TimeDelta};
use proptest::prelude::*;

use super::values::{kernel_humidity, kernel_temperature};
use super::*;
use crate::engine::config::Config;
use crate::engine::units::{Celsius, Humidity};

fn sensor(rest: &str) -> Sensor {
    let text = format!("[mqtt]\nbroker = \"localhost:1883\"\n[[sensor]]\nplace = \"shop\"\n{rest}");
    Config::read(&text).unwrap().sensors.remove(0)
}

fn topic(rest: &str) -> Sensor {
    sensor(&format!("topic = \"shop/air\"\n{rest}"))
}

fn at(minutes: i64) -> Moment {
    DateTime::from_timestamp(1_777_744_800, 0).unwrap() + TimeDelta::minutes(minutes)
}

fn kernel(text: &str) -> Result<f64, SensorFault> {
    kernel_temperature(text, 0.001).map(|celsius| (celsius.degrees() * 1000.0).round() / 1000.0)
}

fn payload(text: &str, sensor: &Sensor) -> Result<(f64, Option<f64>, Option<f64>), SensorFault> {
    let measured = mqtt::heard(text.as_bytes(), sensor)?;
    let humidity = measured.humidity.map(Humidity::percent);
    Ok((measured.temperature.degrees(), humidity, measured.surface.map(Celsius::degrees)))
}

#[test]
fn a_kernel_file_has_thousandths_of_a_degree() {
    assert_eq!(kernel("21562\n"), Ok(21.562));
    assert_eq!(kernel("-1250\n"), Ok(-1.25));
    assert_eq!(kernel("0"), Ok(0.0));
    assert_eq!(kernel_temperature("21.5", 1.0), Ok(Celsius::new(21.5)));
    assert_eq!(kernel_humidity("55000\n", 0.001).unwrap().percent().round(), 55.0);
}

#[test]
fn a_one_wire_file_shows_whether_its_checksum_is_right() {
    let said = |first: &str, second: &str| kernel(&format!("{first}\n{second}\n"));
    let bytes = "72 01 4b 46 7f ff 0e 10 57";
    assert_eq!(said(&format!("{bytes} : crc=57 YES"), &format!("{bytes} t=23125")), Ok(23.125));
    let spoiled = said(&format!("{bytes} : crc=58 NO"), &format!("{bytes} t=23125"));
    assert_eq!(spoiled, Err(SensorFault::CheckSum));
    let zeros = "00 00 00 00 00 00 00 00 00";
    let held_down = said(&format!("{zeros} : crc=00 YES"), &format!("{zeros} t=0"));
    assert_eq!(held_down, Err(SensorFault::Unwired));
    let cut_off = kernel(&format!("{bytes} : crc=57 YES"));
    assert!(matches!(cut_off, Err(SensorFault::NotThat(..))), "{cut_off:?}");
}

#[test]
fn an_impossible_shop_temperature_is_refused() {
    assert_eq!(kernel("85000"), Err(SensorFault::PowerOn));
    assert_eq!(kernel(""), Err(SensorFault::Empty));
    assert_eq!(kernel(" \n"), Err(SensorFault::Empty));
    assert_eq!(kernel("21.5"), Err(SensorFault::Scale("21.5".into())));
    for text in ["84937", "-40001", "99999999999999999999", "1e300"] {
        assert!(matches!(kernel(text), Err(SensorFault::OutOfRange(_))), "{text}");
    }
    for text in ["garbage", "NaN", "inf", "-", "21562 x", "\u{1b}[2J"] {
        assert!(matches!(kernel(text), Err(SensorFault::NotThat(..))), "{text}");
    }
    assert!(matches!(kernel_humidity("101000", 0.001), Err(SensorFault::HumidityOutOfRange(_))));
    assert!(matches!(kernel_humidity("920", 0.001), Err(SensorFault::HumidityOutOfRange(_))));
}

#[test]
fn a_payload_is_a_number_in_the_unit_that_is_set_or_written() {
    let plain = topic("");
    assert_eq!(payload("17.5", &plain), Ok((17.5, None, None)));
    assert_eq!(payload(" 17,5 °C\n", &plain), Ok((17.5, None, None)));
    assert_eq!(payload("50F", &plain), Ok((10.0, None, None)));
    assert_eq!(payload("50", &topic("unit = \"F\"")), Ok((10.0, None, None)));
    assert_eq!(payload("", &plain), Err(SensorFault::Empty));
    assert_eq!(payload("{\"temperature\": 17}", &plain), Err(SensorFault::NoPointer));
    for text in ["unavailable", "NaN", "null", "true", "\u{fffd}"] {
        assert!(matches!(payload(text, &plain), Err(SensorFault::NotThat(..))), "{text}");
    }
    for text in ["-41", "61", "1000"] {
        assert!(matches!(payload(text, &plain), Err(SensorFault::OutOfRange(_))), "{text}");
    }
}

#[test]
fn a_payload_is_json_with_a_pointer_a_value() {
    let all = topic("temperature = \"/air/0/t\"\nhumidity = \"/a~1b\"\nsurface = \"/s\"");
    let good = r#"{"air": [{"t": 17.5}], "a/b": "62 %", "s": "59F", "battery": 97}"#;
    assert_eq!(payload(good, &all), Ok((17.5, Some(62.0), Some(15.0))));
    let nothing = payload(r#"{"air": [{"t": null}], "a/b": 62, "s": 15}"#, &all);
    assert_eq!(nothing, Err(SensorFault::NothingAt("/air/0/t".into())));
    let nowhere = payload(r#"{"air": [{"t": 17.5}], "s": 15}"#, &all);
    assert_eq!(nowhere, Err(SensorFault::NothingAt("/a~1b".into())));
    let odd = payload(r#"{"air": [{"t": {}}]}"#, &all);
    assert!(matches!(odd, Err(SensorFault::NotThat(..))), "{odd:?}");
    let damp = payload(r#"{"air": [{"t": 17.5}], "a/b": 162, "s": 15}"#, &all);
    assert_eq!(damp, Err(SensorFault::HumidityOutOfRange("162.0".into())));
    for fraction in ["0.62", "\"0.62\""] {
        let damp = payload(&format!(r#"{{"air": [{{"t": 17.5}}], "a/b": {fraction}, "s": 15}}"#), &all);
        assert_eq!(damp, Err(SensorFault::HumidityOutOfRange("0.62".into())), "{fraction}");
    }
    for text in ["{", "{\"air\": NaN}", "17.5 17.5", &"[".repeat(LIMIT)] {
        assert!(matches!(payload(text, &all), Err(SensorFault::NotJson(_))), "{:.20}", text);
    }
    assert_eq!(payload(&" ".repeat(LIMIT + 1), &all), Err(SensorFault::TooMuch));
}

#[test]
fn a_program_is_stopped_in_time_and_so_is_what_it_started() {
    let run = |script: &str, patience| {
        let words = ["sh", "-c", script].map(str::to_owned);
        poll::output(&words, Duration::from_millis(patience), &Running::default())
    };
    let begun = Instant::now();
    assert_eq!(run("sleep 300", 300), Err(SensorFault::Hung));
    assert_eq!(run("sleep 300 & echo 17", 300), Err(SensorFault::Hung));
    assert_eq!(run("exec >&-; sleep 300", 300), Err(SensorFault::Hung));
    assert_eq!(run("yes", 60_000), Err(SensorFault::TooMuch));
    assert!(begun.elapsed() < Duration::from_secs(20));
    assert_eq!(run("echo 17.5", 60_000), Ok("17.5\n".into()));
    assert_eq!(run("echo 17.5; exit 3", 60_000), Err(SensorFault::Status("exit status: 3".into())));
    let nobody = poll::output(&["/nonexistent/program".into()], PATIENT, &Running::default());
    assert!(matches!(nobody, Err(SensorFault::NotRun(_))), "{nobody:?}");
}

const PATIENT: Duration = Duration::from_secs(60);

#[test]
fn a_path_that_is_not_a_file_is_reported() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("temperature");
    assert_eq!(poll::file_text(&file), Err(SensorFault::Missing));
    assert_eq!(poll::file_text(folder.path()), Err(SensorFault::NotAFile));
    assert_eq!(poll::file_text(&PathBuf::from("/dev/zero")), Err(SensorFault::NotAFile));
    fs::write(&file, vec![b'1'; LIMIT + 1]).unwrap();
    assert_eq!(poll::file_text(&file), Err(SensorFault::TooMuch));
}

fn measured(degrees: f64) -> Measured {
    Measured { temperature: Celsius::new(degrees), humidity: None, surface: None }
}

/// The reports, a word each.
fn told(events: &[SensorEvent]) -> Vec<String> {
    let word = |event: &SensorEvent| match event {
        SensorEvent::Measured { reading, .. } => format!("{}", reading.air.degrees()),
        SensorEvent::Failed { fault, .. } => format!("failed: {fault}"),
        SensorEvent::Recovered { .. } => "recovered".into(),
    };
    events.iter().map(word).collect()
}

#[test]
fn a_failure_is_reported_once_and_so_is_its_end() {
    let mut keeper = Keeper::new(&[sensor("file = \"/x\"")], at(0));
    assert_eq!(told(&keeper.heard(0, at(0), Ok(measured(17.0)))), ["17"]);
    assert_eq!(told(&keeper.heard(0, at(1), Err(SensorFault::Missing))), ["failed: the file is not there"]);
    assert!(keeper.heard(0, at(2), Err(SensorFault::Missing)).is_empty());
    assert!(keeper.heard(0, at(3), Err(SensorFault::Empty)).is_empty());
    assert_eq!(told(&keeper.heard(0, at(4), Ok(measured(18.0)))), ["recovered", "18"]);
}

#[test]
fn a_silent_source_is_reported_unless_the_machine_slept() {
    let mut keeper = Keeper::new(&[sensor("file = \"/x\"")], at(0));
    let mut watched = |from: i64, seconds: i64| {
        let looks = (0..=seconds / 10).map(|look| at(from) + TimeDelta::seconds(10 * look));
        looks.flat_map(|now| told(&keeper.look(now))).collect::<Vec<_>>()
    };
    assert_eq!(watched(0, 150), [""; 0]);
    assert_eq!(watched(600, 150), [""; 0]);
    assert_eq!(watched(603, 60), ["failed: no data for 3 min"]);
}

/// The first report of the hub, and the longest wait for one.
fn first_of(broker: &str) -> (SensorEvent, Duration) {
    let text = format!("[mqtt]\nbroker = \"{broker}\"\n[[sensor]]\nplace = \"shop\"\ntopic = \"t\"");
    let config = Config::read(&text).unwrap();
    let mut hub = SensorHub::start(&config.sensors, config.mqtt.as_ref(), Arc::new(|| at(0)));
    let (begun, mut longest) = (Instant::now(), Duration::ZERO);
    loop {
        let asked = Instant::now();
        let event = hub.take().into_iter().next();
        longest = longest.max(asked.elapsed());
        if let Some(event) = event {
            return (event, longest);
        }
        assert!(begun.elapsed() < Duration::from_secs(30), "no event came");
        thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn a_missing_or_silent_broker_is_reported_and_blocks_nothing() {
    let silent = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let gone = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    for (broker, why) in [
        (gone.to_string(), "Connection refused"),
        (silent.local_addr().unwrap().to_string(), "it does not answer"),
    ] {
        let (event, waited) = first_of(&broker);
        let SensorEvent::Failed { fault, .. } = event else { panic!("{event:?}") };
        assert!(fault.to_string().contains(why), "{fault}");
        assert!(waited < Duration::from_millis(500), "{waited:?}");
    }
}

#[test]
fn a_sensor_with_exactly_the_same_value_for_a_day_is_stuck() {
    let mut keeper = Keeper::new(&[sensor("file = \"/x\"")], at(0));
    let day = 24 * 60;
    assert_eq!(told(&keeper.heard(0, at(0), Ok(measured(17.0)))), ["17"]);
    assert_eq!(told(&keeper.heard(0, at(day - 1), Ok(measured(17.0)))), ["17"]);
    let stuck = told(&keeper.heard(0, at(day), Ok(measured(17.0))));
    assert!(stuck.len() == 1 && stuck[0].contains("stuck"), "{stuck:?}");
    assert!(keeper.heard(0, at(day + 1), Ok(measured(17.0))).is_empty());
    assert_eq!(told(&keeper.heard(0, at(day + 2), Ok(measured(17.1)))), ["recovered", "17.1"]);
}

/// The report of a keeper on a first answer of 17 °C, with stored readings over a range of minutes.
fn first_after(stored: &[(i64, i64, f64)], every: i64) -> String {
    let mut keeper = Keeper::new(&[sensor("file = \"/x\"")], at(0));
    let runs = stored.iter().flat_map(|&(from, to, degrees)| {
        (from..=to).step_by(every as usize).map(move |minutes| reading(minutes, degrees))
    });
    keeper.remember("Shop", &runs.collect::<Vec<_>>(), at(0));
    told(&keeper.heard(0, at(0), Ok(measured(17.0)))).concat()
}

#[test]
fn a_sensor_that_was_stuck_before_the_program_was_started_still_is() {
    let day = 24 * 60;
    assert!(first_after(&[(-day, -10, 17.0)], 30).contains("stuck"));
    assert!(first_after(&[(-3000, -3000 + day, 17.0)], 30).contains("stuck"), "reported, and then not kept");
    assert_eq!(first_after(&[(-day, -10, 17.1)], 30), "17", "it says something else now");
    assert_eq!(first_after(&[(-day, -700, 17.0), (-600, -10, 17.001)], 30), "17", "it has moved since");
    assert_eq!(first_after(&[(-600, -10, 17.0)], 30), "17", "not for so long");
    assert_eq!(first_after(&[(-2 * day, -10, 17.0)], 180), "17", "no poll in between");
    assert_eq!(first_after(&[], 30), "17");
}

#[test]
fn stored_readings_count_towards_a_whole_day() {
    let mut keeper = Keeper::new(&[sensor("file = \"/x\"")], at(0));
    let half_a_day: Vec<_> = (-720..0).step_by(30).map(|minutes| reading(minutes, 17.0)).collect();
    keeper.remember("shop", &half_a_day, at(0));
    assert_eq!(told(&keeper.heard(0, at(700), Ok(measured(17.0)))), ["17"]);
    assert!(told(&keeper.heard(0, at(721), Ok(measured(17.0)))).concat().contains("stuck"));
}

#[test]
fn the_surface_goes_with_the_air_of_its_place_while_that_is_fresh() {
    let both = "[[sensor]]\nplace = \"shop\"\nfile = \"/a\"\n\
                [[sensor]]\nplace = \"Shop\"\nfile = \"/b\"\nwhat = \"surface\"";
    let mut keeper = Keeper::new(&Config::read(both).unwrap().sensors, at(0));
    assert!(keeper.heard(1, at(0), Ok(measured(15.0))).is_empty());
    let surfaces = |events: Vec<SensorEvent>| match events.as_slice() {
        [SensorEvent::Measured { reading, .. }] => {
            (reading.air.degrees(), reading.surface.map(Celsius::degrees))
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(surfaces(keeper.heard(0, at(0), Ok(measured(17.0)))), (17.0, Some(15.0)));
    assert_eq!(surfaces(keeper.heard(1, at(1), Ok(measured(14.0)))), (17.0, Some(14.0)));
    assert_eq!(surfaces(keeper.heard(0, at(10), Ok(measured(18.0)))), (18.0, None));
    assert!(keeper.heard(1, at(20), Ok(measured(14.0))).is_empty());
}

fn reading(minutes: i64, degrees: f64) -> Reading {
    Reading { at: at(minutes), air: Celsius::new(degrees), humidity: None, surface: None }
}

#[test]
fn a_steady_shop_is_kept_every_half_hour_and_a_change_at_once() {
    let band = KelvinDelta::new(0.2);
    let kept = |last, held: Option<Reading>, new: Reading| {
        let kept = to_keep(Some(&last), held.as_ref(), new, band);
        kept.iter().map(|reading| (reading.at - at(0)).num_minutes()).collect::<Vec<_>>()
    };
    assert_eq!(to_keep(None, None, reading(0, 20.0), band).len(), 1);
    assert_eq!(kept(reading(0, 20.0), None, reading(1, 20.2)), [0; 0]);
    assert_eq!(kept(reading(0, 20.0), None, reading(1, 20.3)), [1]);
    assert_eq!(kept(reading(0, 20.0), Some(reading(29, 20.0)), reading(30, 20.0)), [30]);
    // A door opens after a steady period: no line is drawn through that period.
    assert_eq!(kept(reading(0, 20.0), Some(reading(28, 20.0)), reading(29, 12.0)), [28, 29]);
    // A slow drift needs its corners only.
    assert_eq!(kept(reading(0, 20.0), Some(reading(10, 20.2)), reading(11, 20.22)), [11]);
    // A reading older than the job's last one is not new: another process was first.
    assert_eq!(kept(reading(5, 20.0), None, reading(5, 25.0)), [0; 0]);
    assert_eq!(kept(reading(5, 20.0), Some(reading(4, 20.0)), reading(6, 25.0)), [6]);
    let damp = |percent| Humidity::from_percent(percent).ok();
    let last = Reading { humidity: damp(50.0), ..reading(0, 20.0) };
    assert_eq!(kept(last, None, Reading { humidity: damp(51.9), ..reading(1, 20.0) }), [0; 0]);
    assert_eq!(kept(last, None, Reading { humidity: damp(52.5), ..reading(1, 20.0) }), [1]);
}

proptest! {
    #[test]
    fn any_sensor_output_is_a_shop_temperature_or_refused(text in ".{0,80}", bytes: Vec<u8>) {
        let json = topic("temperature = \"/t\"");
        for said in [text.as_str(), &String::from_utf8_lossy(&bytes), &format!("{{\"t\": {text}}}")] {
            let kernel = kernel_temperature(said, 0.001).ok();
            let spoken = [mqtt::heard(said.as_bytes(), &topic("")), mqtt::heard(said.as_bytes(), &json)];
            let all = spoken.into_iter().flatten().map(|measured| measured.temperature).chain(kernel);
            for celsius in all {
                prop_assert!((-40.0..=60.0).contains(&celsius.degrees()));
            }
        }
    }
}

#[test]
fn no_program_is_started_once_the_watch_has_ended() {
    let running = Running::default();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ran");
    let words = ["touch".to_owned(), file.display().to_string()];
    running.end_all();
    assert!(matches!(poll::output(&words, PATIENT, &running), Err(SensorFault::NotRun(_))));
    assert!(!file.exists());
}
