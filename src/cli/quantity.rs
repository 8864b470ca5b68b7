//! `quantity`: how much, what to weigh out, in how many batches, and what to buy.

use std::io::Write;

use clap::Args;

use super::setup::Setup;
use super::{Failure, json};
use crate::app::json::quantities_json;
use crate::app::session::SessionError;
use crate::app::wording::AmountsPage;
use crate::engine::amounts::{Asked, Practice};
use crate::engine::config::MOST_LOST;
use crate::engine::units::{Celsius, Micrometres, Percent, SquareMetres, UnitError, clean};

#[derive(Debug, Args)]
pub struct QuantityArguments {
    /// The area; left out: every area of the scheme
    pub area: Option<String>,
    /// The product; left out: every coat that is to come
    pub product: Option<String>,
    /// The wet film to lay: 80um or 3mil; left out: the middle of what the profile asks
    #[arg(long, value_name = "FILM", allow_hyphen_values = true)]
    pub film: Option<String>,
    /// What is lost on the way, in per cent; left out: as in the settings
    #[arg(long, value_name = "P", allow_hyphen_values = true)]
    pub loss: Option<String>,
    /// Thinner, in per cent of the unthinned volume
    #[arg(long, value_name = "P", allow_hyphen_values = true)]
    pub thin: Option<String>,
    /// How large the area is: 6.5m2 or 70ft2; left out: as the scheme says
    #[arg(long, value_name = "SIZE", allow_hyphen_values = true)]
    pub size: Option<String>,
    /// How warm it will be; left out: as it was last read
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub temperature: Option<String>,
}

pub fn run(setup: &Setup, arguments: &QuantityArguments, out: &mut dyn Write) -> Result<u8, Failure> {
    setup.tell_faults();
    let session = setup.session()?;
    let now = session.now();
    let units = &setup.config.units;
    let asked = Asked {
        area: arguments.area.clone(),
        product: arguments.product.as_deref().map(|product| product.trim().to_owned()),
        size: given(&arguments.size, |text| SquareMetres::parse(text, units.area))?,
        practice: practice(setup, arguments, session.practice())?,
    };
    let air = given(&arguments.temperature, |text| Celsius::parse(text, units.temperature))?;
    let all = session.quantities(&asked, air, now)?;
    let words = session.words();
    if let (Some(_), [area]) = (&asked.area, &all.areas[..])
        && area.coats.is_empty()
    {
        let why: Vec<String> = area.cannot.iter().map(|why| words.why_not(why, &area.area)).collect();
        return Err(Failure::Input(why.join(" ")));
    }
    if all.areas.is_empty() {
        return Err(Failure::Input(
            "no area is planned; load a scheme (curewright scheme FILE), or ask for one area: curewright quantity AREA PRODUCT --size 3m2".into(),
        ));
    }
    if setup.json {
        json(out, &quantities_json(&all, words, now))?;
        return Ok(0);
    }
    let page = match asked.area {
        Some(_) => words.quantity(&all, setup.config.amounts.scale, now),
        None => words.all_quantities(&all),
    };
    print(&page, out)
}

/// Prints a page of amounts, with a gap before what heads something.
pub fn print(page: &AmountsPage, out: &mut dyn Write) -> Result<u8, Failure> {
    writeln!(out, "{}", page.title)?;
    for line in &page.lines {
        if line.head {
            writeln!(out)?;
        }
        writeln!(out, "{}{}", "  ".repeat(line.indent.into()), line.text)?;
    }
    Ok(0)
}

fn given<T>(
    text: &Option<String>,
    parse: impl Fn(&str) -> Result<T, UnitError>,
) -> Result<Option<T>, SessionError> {
    Ok(text.as_deref().map(parse).transpose()?)
}

fn practice(setup: &Setup, arguments: &QuantityArguments, usual: Practice) -> Result<Practice, Failure> {
    let film = given(&arguments.film, |text| Micrometres::parse(text, setup.config.units.area))?;
    let loss = per_cent(&arguments.loss, "--loss", MOST_LOST)?.unwrap_or(usual.loss);
    let thinner = per_cent(&arguments.thin, "--thin", 100.0)?.unwrap_or(usual.thinner);
    Ok(Practice { film, loss, thinner, ..usual })
}

fn per_cent(text: &Option<String>, option: &str, most: f64) -> Result<Option<Percent>, Failure> {
    let Some(text) = text else { return Ok(None) };
    let number = text.trim().trim_end_matches('%').trim_end().replace(',', ".");
    match number.parse() {
        Ok(percent) if (0.0..=most).contains(&percent) => Ok(Some(Percent::new(percent))),
        _ => Err(Failure::Input(format!(
            "{option}: \"{}\" is not a percentage from 0 to {most}, such as 10",
            clean(text)
        ))),
    }
}
