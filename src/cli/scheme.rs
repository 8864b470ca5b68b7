//! `scheme`: the planned steps of every area.

use std::io::Write;
use std::path::Path;

use serde_json::json;

use super::entries::answer;
use super::setup::{Setup, read_small};
use super::{Failure, input, json};
use crate::engine::job::{Area, SchemeStep};
use crate::engine::units::clean;

pub fn run(setup: &Setup, file: Option<&Path>, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut session = setup.session()?;
    if let Some(file) = file {
        let text = read_small(file)?;
        let done = session.import_scheme(&input::name(file), text, setup.at)?;
        answer(setup, &done, out)?;
        return Ok(0);
    }
    let job = session.job(session.now())?;
    let planned: Vec<&Area> = job.areas.iter().filter(|area| area.plan.is_some()).collect();
    if setup.json {
        let areas: Vec<_> = planned
            .iter()
            .map(|area| json!({ "area": area.name, "place": area.place(), "to_do": steps(area.to_do()) }))
            .collect();
        json(out, &json!({ "name": job.name, "areas": areas }))?;
        return Ok(0);
    }
    if planned.is_empty() {
        writeln!(out, "The job has no scheme; load one with: curewright scheme FILE")?;
    }
    for area in planned {
        let to_do = steps(area.to_do());
        let left = if to_do.is_empty() { "all steps are done".into() } else { to_do.join(", ") };
        writeln!(out, "{}: {left}", clean(&area.name))?;
    }
    Ok(0)
}

fn steps(steps: &[SchemeStep]) -> Vec<String> {
    let word = |step: &SchemeStep| match step {
        SchemeStep::Coat { product, .. } => product.clone(),
        SchemeStep::Sand { grit, .. } => format!("sand {grit}"),
        SchemeStep::Wash => "wash".into(),
        SchemeStep::Tape { on: true } => "tape on".into(),
        SchemeStep::Tape { on: false } => "tape off".into(),
    };
    steps.iter().map(word).collect()
}
