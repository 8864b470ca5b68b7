//! Several processes at once on one job.

use std::process::Output;
use std::sync::Barrier;
use std::thread;

use crate::common::Hut;

#[test]
fn readings_of_two_people_at_once_are_all_recorded() {
    const EACH: usize = 50;
    let hut = Hut::new();
    let together = Barrier::new(2);
    thread::scope(|people| {
        for hour in [10, 11] {
            let (hut, together) = (&hut, &together);
            people.spawn(move || {
                together.wait();
                for minute in 0..EACH {
                    hut.at(&format!("2026-05-01 {hour}:{minute:02}"), &format!("reading {minute}")).well();
                }
            });
        }
    });
    let record = hut.record();
    let entries = record.as_array().unwrap();
    let mut ids: Vec<i64> = entries.iter().map(|entry| entry["id"].as_i64().unwrap()).collect();
    ids.sort_unstable();
    assert_eq!(ids, (1..=2 * EACH as i64).collect::<Vec<_>>());
    let mut readings: Vec<(String, i64)> = entries
        .iter()
        .map(|entry| {
            (entry["at"].as_str().unwrap().to_owned(), entry["entry"]["air"].as_f64().unwrap() as i64)
        })
        .collect();
    readings.sort();
    let expected: Vec<(String, i64)> = ["08", "09"]
        .iter()
        .flat_map(|hour| (0..EACH).map(move |m| (format!("2026-05-01T{hour}:{m:02}:00Z"), m as i64)))
        .collect();
    assert_eq!(readings, expected);
}

#[test]
fn a_job_that_several_processes_make_at_once_is_made_once() {
    let hut = Hut::new();
    let together = Barrier::new(8);
    thread::scope(|people| {
        for minute in 0..8 {
            let (hut, together) = (&hut, &together);
            people.spawn(move || {
                together.wait();
                hut.at(&format!("2026-05-01 10:0{minute}"), "reading 17").well();
            });
        }
    });
    assert_eq!(hut.record().as_array().unwrap().len(), 8);
}

#[test]
fn of_two_coats_begun_at_once_on_one_area_one_is_refused() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    let together = Barrier::new(2);
    let statuses: Vec<Option<i32>> = thread::scope(|people| {
        let coats: Vec<_> = (0..2)
            .map(|_| {
                people.spawn(|| {
                    together.wait();
                    hut.at("2026-05-01 10:00", "coat door hut-varnish").status
                })
            })
            .collect();
        coats.into_iter().map(|coat| coat.join().unwrap()).collect()
    });
    assert!(statuses == [Some(0), Some(2)] || statuses == [Some(2), Some(0)], "{statuses:?}");
    assert_eq!(hut.record().as_array().unwrap().len(), 2);
}

/// What four who watch at once say together, a line an alert, sorted.
fn said_by_four(hut: &Hut, moment: &str) -> Vec<String> {
    let together = Barrier::new(4);
    let outputs: Vec<Output> = thread::scope(|people| {
        let watch = || {
            let mut command = hut.command();
            command.args(["--at", moment, "watch", "--once", "--no-desktop"]);
            together.wait();
            command.output().unwrap()
        };
        let watchers: Vec<_> = (0..4).map(|_| people.spawn(watch)).collect();
        watchers.into_iter().map(|watcher| watcher.join().unwrap()).collect()
    });
    let said: String = outputs.iter().map(|output| hut.ran("watch", output).well().out).collect();
    let mut lines: Vec<String> = said.lines().map(str::to_owned).collect();
    lines.sort_unstable();
    lines
}

#[test]
fn an_alert_is_raised_once_and_repeated_once_by_several_processes() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    for area in ["door", "roof", "sill"] {
        hut.at("2026-05-01 08:00", &format!("coat {area} hut-varnish --done")).well();
    }
    let closes = |time: &str, area: &str| {
        format!(
            "{time}  {area}: GO IF DRY until 13:00. The window closes 13:00. After that, leave it alone until 16:00, then sand."
        )
    };
    let expected: Vec<String> = ["door", "roof", "sill"]
        .into_iter()
        .flat_map(|area| {
            let open = format!(
                "12:45  {area}: GO IF DRY until 13:00. Second coat. Then the window closes. The humidity is unknown, so dew is possible: measure it. It was due 2 h 45 min ago."
            );
            [open, closes("12:45", area)]
        })
        .collect();
    assert_eq!(said_by_four(&hut, "2026-05-01 12:45"), expected);
    assert_eq!(hut.run("alerts --json").json().as_array().unwrap().len(), 6);
    // It is not acknowledged: ten minutes later it is repeated, once.
    let again = ["door", "roof", "sill"].map(|area| closes("12:56", area));
    assert_eq!(said_by_four(&hut, "2026-05-01 12:56"), again);
}
