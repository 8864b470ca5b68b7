//! `curewright forecast`, as it is typed.

use chrono::{DateTime, TimeDelta, Utc};

use super::server::{Does, IN_HALF_AN_HOUR, Service, answer, bare, forecast, good};
use crate::common::{Hut, Ran};

const CREDIT: &str = "Data: MET Norway (CC BY 4.0)";

/// The wall clock; a service is asked by no other.
#[expect(clippy::disallowed_methods, reason = "this test plays the service, which has a clock of its own")]
fn now() -> DateTime<Utc> {
    Utc::now()
}

fn hut_near(service: &Service) -> Hut {
    let hut = Hut::new();
    hut.settings(format!(
        "[weather]\nlatitude = 59.91279\nlongitude = 10.74619\ncontact = \"shop@hut.test\"\nurl = \"{}\"\n",
        service.address()
    ));
    hut
}

/// Runs a line that has to fail so, and say why.
#[track_caller]
fn fails(hut: &Hut, line: &str, status: i32) -> String {
    let ran = hut.run(line);
    assert_eq!((ran.status, ran.out.as_str()), (Some(status), ""), "{ran}");
    assert!(ran.err.starts_with("curewright: "), "{ran}");
    ran.err
}

const TABLE: &str = "time,temperature,humidity,rain,wind
2026-05-02 20:00,12.5,78,0.4,3
2026-05-02 21:00,12,80,0,2.5
2026-05-02 22:00,11.5,,,
";

#[test]
fn a_file_is_taken_in_and_shown() {
    let hut = Hut::new();
    hut.write("may.csv", TABLE);
    let empty = hut.at("2026-05-02 20:10", "forecast").well();
    assert!(empty.out.starts_with("No forecast is stored."), "{empty}");
    assert!(!hut.job().exists(), "looking has made a job");
    let taken = hut.at("2026-05-02 20:10", "forecast may.csv").well();
    assert_eq!(taken.out, "3 hours loaded from may.csv: 20:00 to 22:00.\n");
    let shown = hut.at("2026-05-02 20:30", "forecast").well();
    assert_eq!(
        shown.out,
        "Forecast of may.csv, loaded 20:10, 20 min ago.\n\
         It reaches from 20:00 to 22:00.\n\
         \n\
         \u{20}                  air  humidity     rain      wind\n\
         20:00          12.5 °C      78 %   0.4 mm   3.0 m/s\n\
         21:00          12.0 °C      80 %   0.0 mm   2.5 m/s\n\
         22:00          11.5 °C         –        –         –\n"
    );
    let later = hut.at("2026-05-04 08:00", "forecast").well();
    assert!(later.out.contains("! It ended Sat 2 May 22:00; there is no forecast now."), "{later}");
}

#[test]
fn machines_read_it_with_units_in_the_keys() {
    let hut = Hut::new();
    hut.write("may.csv", TABLE);
    let nothing = hut.at("2026-05-02 20:10", "forecast --json").json();
    assert_eq!(nothing["forecast"], serde_json::Value::Null);
    assert_eq!(nothing["hours"], serde_json::json!([]));
    let taken = hut.at("2026-05-02 20:10", "forecast may.csv --json").json();
    assert_eq!(
        taken,
        serde_json::json!({
            "taken": 3, "from": "2026-05-02T18:00:00Z", "to": "2026-05-02T20:00:00Z",
            "notes": [], "bad_rows": 0, "faults": [], "credit": null
        })
    );
    let shown = hut.at("2026-05-02 21:30", "forecast --json").json();
    assert_eq!(
        shown,
        serde_json::json!({
            "at": "2026-05-02T19:30:00Z",
            "forecast": {
                "source": "file", "name": "may.csv", "made_at": null, "taken_at": "2026-05-02T18:10:00Z",
                "age_s": 4800, "from": "2026-05-02T18:00:00Z", "to": "2026-05-02T20:00:00Z", "credit": null
            },
            "fetch": null,
            "hours": [
                { "at": "2026-05-02T19:00:00Z", "temperature_c": 12.0, "relative_humidity": 80.0,
                  "rain_mm": 0.0, "wind_m_s": 2.5 },
                { "at": "2026-05-02T20:00:00Z", "temperature_c": 11.5, "relative_humidity": null,
                  "rain_mm": null, "wind_m_s": null }
            ]
        })
    );
}

#[test]
fn valid_rows_are_read_invalid_ones_and_oddities_reported() {
    let hut = Hut::new();
    hut.write(
        "may.csv",
        "time,temperature,humidity\n2026-05-02 20:00,54F,50\n2026-05-02 21:00,12,101\n2026-05-02 23:00,11,60\n2026-05-02 20:00,13,60\nsoon,1,1\n",
    );
    let ran = hut.at("2026-05-02 23:59", "forecast may.csv");
    assert_eq!(ran.status, Some(0), "{ran}");
    assert_eq!(
        ran.err,
        "may.csv: line 3: 101 % is outside 0…100 %; give relative humidity in per cent\n\
         may.csv: line 6: \"soon\" is not a time such as 2026-05-02T18:00:00Z, 2026-05-02 18:00 or 1777744800\n"
    );
    assert_eq!(
        ran.out,
        "4 hours loaded from may.csv: 20:00 to 23:00.\n\
         ! It was not in order of time; it is sorted now.\n\
         ! One moment was in it twice; the later one counts.\n\
         2 rows were not readable and are ignored.\n"
    );
    let past = hut.at("2026-05-06 12:00", "forecast may.csv --json").json();
    assert_eq!(past["bad_rows"], 2);
    assert!(
        past["notes"][2].as_str().unwrap().starts_with("It ends at Sat 2 May 23:00, before now"),
        "{past}"
    );
}

#[test]
fn what_is_no_forecast_is_refused() {
    let hut = Hut::new();
    hut.write("letter.txt", "Dear shepherd,\n");
    hut.write("bad.csv", "time,temperature\nsoon,12\n");
    hut.write("other.json", "{\"cake\": 1}");
    hut.write("large.json", vec![b' '; 10 << 20]);
    assert!(fails(&hut, "forecast letter.txt", 2).contains("letter.txt: line 1 names no columns"));
    assert!(fails(&hut, "forecast bad.csv", 2).contains("no usable hour; line 2"));
    assert!(fails(&hut, "forecast other.json", 2).contains("missing field `properties`"));
    assert!(fails(&hut, "forecast large.json", 2).contains("larger than"));
    assert!(fails(&hut, "forecast gone.csv", 3).contains("gone.csv cannot be read"));
    assert!(fails(&hut, "forecast .", 3).contains("cannot be read"));
    assert!(!hut.job().exists());
    let both = hut.run("forecast bad.csv --fetch");
    assert_eq!(both.status, Some(2), "{both}");
}

#[test]
fn a_saved_answer_of_the_service_is_taken_with_its_credit() {
    let hut = Hut::new();
    hut.write("may.json", forecast("2026-05-02T18:00:00Z".parse().unwrap(), 3, 12.0));
    let taken = hut.at("2026-05-02 20:10", "forecast may.json").well();
    assert!(taken.out.contains("3 hours loaded from may.json") && taken.out.contains(CREDIT), "{taken}");
}

#[test]
fn without_coordinates_no_network_is_touched() {
    let service = Service::says(good(forecast(now(), 3, 12.0)));
    let hut = Hut::new();
    let url = format!("url = \"{}\"\n", service.address());
    for (settings, what) in [
        (String::new(), "set latitude and longitude under [weather]"),
        (format!("[weather]\ncontact = \"shop@hut.test\"\n{url}"), "set latitude and longitude"),
        (format!("[weather]\nlatitude = 60\nlongitude = 10\n{url}"), "set contact"),
        ("[weather]\nlatitude = 60\nlongitude = 10\ncontact = \"you@example.org\"\n".into(), "set your own"),
    ] {
        hut.settings(settings);
        let told = fails(&hut, "forecast --fetch", 2);
        assert!(told.contains(what) && told.contains("\"curewright config\""), "{told}");
    }
    assert_eq!(service.heard(), [""; 0]);
    assert!(!hut.job().exists());
    hut.settings("[weather]\nurl = \"http://example.org/forecast\"\n");
    assert!(
        fails(&hut, "forecast --fetch", 2).contains("weather.url: others can read and change plain HTTP")
    );
}

#[test]
fn a_forecast_is_fetched_kept_and_not_asked_for_again_too_soon() {
    let service = Service::says(good(forecast(now() - TimeDelta::minutes(10), 48, 12.0)));
    let hut = hut_near(&service);
    let fetched = hut.run("forecast --fetch").well();
    assert!(fetched.out.starts_with("48 hours loaded from 127.0.0.1: "), "{fetched}");
    assert!(fetched.out.contains(CREDIT), "{fetched}");
    assert!(
        service.heard()[0]
            .starts_with("GET /weatherapi/locationforecast/2.0/compact?lat=59.9127&lon=10.7461 HTTP/1.1\n")
    );
    let again = hut.run("forecast --fetch").well();
    assert!(again.out.starts_with("The last answer is valid until "), "{again}");
    assert!(again.out.contains("Forecast of 127.0.0.1, made ") && again.out.contains(CREDIT), "{again}");
    assert_eq!(hut.run("forecast --fetch --json").json()["outcome"], "not_yet");
    assert_eq!(service.heard().len(), 1);
    let shown = hut.run("forecast").well();
    assert!(shown.out.contains(", 10 min ago, fetched ") && shown.out.contains(CREDIT), "{shown}");
    assert!(shown.out.matches("12.0 °C").count() >= 24, "{shown}");
    let json = hut.run("forecast --json").json();
    assert_eq!(json["forecast"]["credit"], CREDIT);
    assert_eq!(
        (&json["forecast"]["source"], &json["forecast"]["name"]),
        (&"service".into(), &"127.0.0.1".into())
    );
    assert!(json["fetch"]["expires_at"].is_string(), "{json}");
    assert_eq!(json["hours"][0]["temperature_c"], 12.0);
}

#[test]
fn what_has_not_changed_is_said_to_hold_still() {
    // It expires at once, so that it may be asked for again.
    let body = forecast(now(), 48, 12.0);
    let lines = "Last-Modified: Tue, 16 Jun 2020 12:13:49 GMT\r\n";
    let service = Service::that([
        Does::Says(answer("200 OK", lines, body)),
        Does::Says(bare("304 Not Modified", &format!("Expires: {IN_HALF_AN_HOUR}\r\n"))),
    ]);
    let hut = hut_near(&service);
    let first = hut.run("forecast --fetch --json").json();
    assert_eq!((&first["outcome"], &first["taken"]), (&"new".into(), &48.into()));
    assert_eq!((&first["expires_at"], &first["credit"]), (&serde_json::Value::Null, &CREDIT.into()));
    let second = hut.run("forecast --fetch").well();
    assert!(second.out.starts_with("No change: the stored forecast is still valid.\n"), "{second}");
    assert!(service.heard()[1].to_lowercase().contains("if-modified-since: tue, 16 jun 2020 12:13:49 gmt"));
    assert!(hut.run("forecast --fetch --json").json()["expires_at"].is_string());
}

#[test]
fn when_the_service_fails_the_stored_forecast_keeps_serving() {
    let service = Service::says(answer("200 OK", "", forecast(now(), 48, 12.0)));
    let hut = hut_near(&service);
    hut.run("forecast --fetch").well();
    let hours = |hut: &Hut| hut.run("forecast --json").json()["hours"].as_array().unwrap().len();
    for (broken, what) in [
        (bare("500 Internal Server Error", ""), "has an internal error; try again later (HTTP 500)"),
        (bare("403 Forbidden", ""), "check contact under [weather]"),
        (answer("200 OK", "", "{}"), "missing field `properties`"),
        (answer("200 OK", "", vec![b' '; 10 << 20]), "larger than 8 MB"),
        (bare("301 Moved", "Location: http://example.org/\r\n"), "redirects to http://example.org/"),
        (Vec::new(), "is incomplete"),
    ] {
        service.now_says(broken);
        let told = fails(&hut, "forecast --fetch", 3);
        assert!(told.contains(what) && told.contains("The stored forecast of "), "{told}");
        assert!(told.contains("stays in use, until "), "{told}");
        assert_eq!(hours(&hut), 48);
    }
    let shown: Ran = hut.run("forecast").well();
    assert!(shown.out.contains("! The last fetch, ") && shown.out.contains("is incomplete"), "{shown}");
    assert!(hut.run("forecast --json").json()["fetch"]["error"].as_str().unwrap().contains("is incomplete"));
    service.now_says(good(forecast(now(), 24, 9.0)));
    hut.run("forecast --fetch").well();
    assert!(!hut.run("forecast").well().out.contains("failed"));
}

#[test]
fn a_service_that_asks_for_fewer_requests_is_left_alone() {
    let service = Service::says(bare("429 Too Many Requests", "Retry-After: 3600\r\n"));
    let hut = hut_near(&service);
    let first = fails(&hut, "forecast --fetch", 3);
    assert!(first.contains("asks for fewer requests (HTTP 429); the next request is at "), "{first}");
    assert!(first.contains("No forecast is stored."), "{first}");
    let second = fails(&hut, "forecast --fetch", 3);
    assert!(second.contains("asked for fewer requests; the next request is at "), "{second}");
    assert_eq!(service.heard().len(), 1);
}

#[test]
fn a_failure_makes_no_job() {
    let service = Service::says(bare("500 Internal Server Error", ""));
    let hut = hut_near(&service);
    fails(&hut, "forecast --fetch", 3);
    assert!(!hut.job().exists());
}

#[test]
fn a_deprecated_forecast_product_is_shown() {
    let service = Service::says(answer("203 Non-Authoritative Information", "", forecast(now(), 3, 12.0)));
    let told = hut_near(&service).run("forecast --fetch").well();
    assert!(told.out.contains("! The service says that this product is on trial or ends soon"), "{told}");
}
