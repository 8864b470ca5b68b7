//! `completions` and `man`: for packagers, made from the arguments themselves.

mod pages;

use std::fs;
use std::io::Write;
use std::path::Path;

use clap::CommandFactory;
use clap_complete::Shell;

use super::args::Arguments;
use super::{Failure, out};
use pages::sections;

/// What each shell does to complete the job's own words.
const BASH: &str = include_str!("packaging/own.bash");
const ZSH: &str = include_str!("packaging/own.zsh");
const FISH: &str = include_str!("packaging/own.fish");

pub fn completions(shell: Shell, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "curewright", &mut text);
    let text = String::from_utf8_lossy(&text);
    let text = match shell {
        Shell::Bash => format!("{text}\n{BASH}"),
        // Where it would offer anything, it offers what the job has.
        Shell::Zsh => {
            let (head, rest) = text.split_once('\n').unwrap_or_default();
            format!("{head}\n\n{ZSH}\n{}", rest.replace(":_default'", ":_curewright_own'"))
        }
        Shell::Fish => {
            let own = |line: &str| match line.strip_suffix(" -r") {
                Some(option) => format!("{option} -r -f -a '(__curewright_own)'\n"),
                None => format!("{line}\n"),
            };
            format!("{}\n{FISH}", text.lines().map(own).collect::<String>())
        }
        _ => text.into_owned(),
    };
    out.write_all(text.as_bytes())?;
    Ok(0)
}

pub fn man(all: Option<&Path>, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut command = Arguments::command();
    command.build();
    let Some(folder) = all else {
        render(&command, out)?;
        return Ok(0);
    };
    let failed = |error| Failure::Unwritable { path: folder.display().to_string(), error };
    fs::create_dir_all(folder).map_err(failed)?;
    let mut page = Vec::new();
    render(&command, &mut page)?;
    out::rewrite(&folder.join("curewright.1"), &page)?;
    for sub in shown(&command) {
        let mut page = Vec::new();
        clap_mangen::Man::new(sub.clone()).render(&mut page)?;
        sections(Some(sub.get_name()), &mut page)?;
        out::rewrite(&folder.join(format!("curewright-{}.1", sub.get_name())), &page)?;
    }
    writeln!(
        out,
        "Wrote the manual pages to {}.",
        crate::engine::units::clean(&folder.display().to_string())
    )?;
    Ok(0)
}

fn shown(command: &clap::Command) -> impl Iterator<Item = &clap::Command> {
    command.get_subcommands().filter(|sub| sub.get_name() != "help")
}

/// One page: the program, then each command with its arguments.
fn render(command: &clap::Command, out: &mut dyn Write) -> Result<(), Failure> {
    clap_mangen::Man::new(command.clone()).render(&mut *out)?;
    for sub in shown(command) {
        let man = clap_mangen::Man::new(sub.clone());
        writeln!(out, ".SH \"curewright {}\"", sub.get_name())?;
        man.render_description_section(&mut *out)?;
        man.render_options_section(&mut *out)?;
    }
    sections(None, out)
}
