//! `completions` and `man`: for packagers, made from the arguments themselves.

use std::io::Write;

use clap::CommandFactory;

use super::Failure;
use super::args::Arguments;

pub fn completions(shell: clap_complete::Shell, out: &mut dyn Write) -> Result<u8, Failure> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "curewright", &mut text);
    out.write_all(&text)?;
    Ok(0)
}

pub fn man(out: &mut dyn Write) -> Result<u8, Failure> {
    let mut command = Arguments::command();
    command.build();
    render(&command, out)?;
    Ok(0)
}

/// One page: the program, then each command with its arguments.
fn render(command: &clap::Command, out: &mut dyn Write) -> Result<(), Failure> {
    clap_mangen::Man::new(command.clone()).render(&mut *out)?;
    for sub in command.get_subcommands().filter(|sub| sub.get_name() != "help") {
        let man = clap_mangen::Man::new(sub.clone());
        writeln!(out, ".SH \"curewright {}\"", sub.get_name())?;
        man.render_description_section(&mut *out)?;
        man.render_options_section(&mut *out)?;
    }
    Ok(())
}
